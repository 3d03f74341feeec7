package infer

import (
	"bytes"
	"slices"
	"strings"

	"sagitta/devices/decode"
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
			after := i + len(w)
			exponent := len(w) == 1 && after < len(s) && strings.IndexByte("+-0123456789", s[after]) >= 0
			if !exponent && (rest == 0 || rest == 1 && len(w) > 1) {
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

// measure fills in units and scale; false where the words of the frames differ too much.
func (s *shape) measure(inner [][]byte, fields []field, w written, c Choice) bool {
	is, ok := "", true
	s.units = map[string]string{}
	if i := slices.IndexFunc(fields, func(f field) bool { return f.role == decode.RoleUnit }); i >= 0 {
		if is, ok = s.readUnits(texts(inner, fields[i].spans), c); !ok {
			return false
		}
		if number := slices.IndexFunc(fields, func(f field) bool { return f.role == decode.RoleDigits }); c.Unit == "" && unclear(inner, fields[i].spans, fields[number].spans) {
			s.doubts = append(s.doubts, DoubtUnit)
		}
		s.score += 4
	} else if is = c.Unit; is == "" && bytes.Contains(inner[0], []byte("\xB5m")) { // the sign for micro in ISO 8859-1
		is = "um"
	} else if is == "" {
		s.doubts = append(s.doubts, DoubtUnit)
		is = "mm"
		if w.point != "" && w.places > 3 { // as steps of .0005 and .00005 in have, of mm seldom (common practice, no source)
			is = "in"
		}
	}
	s.fallback, s.scale = measures[is].unit, measures[is].scale
	for range s.places(is, w, c) {
		s.scale /= 10
	}
	return true
}

// unclear tells that a unit's word may be part of another, as IN is of INC, of INP and of an input's number: two letters other than mm that
// stand before the number, or that a letter or digit follows.
func unclear(inner [][]byte, unit, number []span) bool {
	for i, b := range inner {
		u := unit[i]
		beside := u.from < number[i].from || u.to < len(b) && (isLetter(b[u.to]) || isDigit(b[u.to]))
		if word := strings.ToLower(string(b[u.from:u.to])); beside && len(word) == 2 && word != "mm" {
			return true
		}
	}
	return false
}

// readUnits fills in what the unit words mean, and returns the measure that they all have.
func (s *shape) readUnits(words []string, c Choice) (is string, ok bool) {
	for _, word := range words {
		_, _, one, known := unitIn(word)
		if c.Unit != "" {
			one, known = c.Unit, true
		} else if !known || doubtedUnit(word) {
			s.doubts = append(s.doubts, DoubtUnit)
		}
		if !known {
			one = "mm"
		}
		if is != "" && measures[is].scale != measures[one].scale {
			return "", false
		}
		is = one
		s.units[word] = measures[one].unit
	}
	return is, true
}

// places are the digits behind a point that is not sent.
func (s *shape) places(is string, w written, c Choice) int {
	switch {
	case w.point != "":
		return 0
	case c.Places != nil:
		return *c.Places
	case is == "um":
		return 0
	}
	s.doubts = append(s.doubts, DoubtPoint)
	switch {
	case w.whole < 2:
		return 0
	case is == "in":
		return 4
	}
	return 3
}
