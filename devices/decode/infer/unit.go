package infer

import (
	"slices"
	"strings"
)

// measure is what a gauge's number counts.
type measure struct {
	unit  string  // mm or in
	scale float64 // of one count
}

// Units are the names that a Choice gives to what a number counts.
var Units = []string{"mm", "in", "um", "thou", "cm"}

var measures = map[string]measure{"mm": {"mm", 1}, "in": {"in", 1}, "um": {"mm", 0.001}, "thou": {"in", 0.001}, "cm": {"mm", 10}}

// unitWords are the words that gauges use, in small letters, with the measure they mean. Those of one letter stand alone only, and
// are doubted.
var unitWords = map[string]string{
	"mm": "mm", "millimeter": "mm", "millimetre": "mm", "m": "mm",
	"in": "in", "inch": "in", `"`: "in", "''": "in", "i": "in", "e": "in",
	"um": "um", "µm": "um", "μm": "um", "micron": "um",
	"thou": "thou", "mil": "thou", "mils": "thou", "cm": "cm",
}

// unitIn finds the first unit word in s: it begins where a word begins, and at most one more letter follows it, as of a status.
func unitIn(s string) (from, to int, is string, ok bool) {
	words := make([]string, 0, len(unitWords))
	for w := range unitWords {
		words = append(words, w)
	}
	slices.SortFunc(words, func(a, b string) int { return len(b) - len(a) })
	for i := range len(s) {
		if i > 0 && isLetter(s[i-1]) {
			continue
		}
		for _, w := range words {
			if len(s)-i < len(w) || strings.ToLower(s[i:i+len(w)]) != w {
				continue
			}
			rest := 0
			for rest < len(s)-i-len(w) && isLetter(s[i+len(w)+rest]) {
				rest++
			}
			if rest == 0 || rest == 1 && len(w) > 1 {
				return i, i + len(w), unitWords[w], true
			}
		}
	}
	return 0, 0, "", false
}

// doubtedUnit tells a word that may as well be something else.
func doubtedUnit(word string) bool { return len(word) == 1 && word != `"` }

func isLetter(b byte) bool {
	return b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' || b >= 0x80
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }
