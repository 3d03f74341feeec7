// Package unit writes and reads lengths in the units of the trade. Everything in the program is in mm; other units exist only
// where a person, a gauge or a file of somebody else's meets it.
package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// MMPerInch is exact by definition: the international yard and pound agreement of 1959.
const MMPerInch = 25.4

// Unit is a unit of length.
type Unit int

// The units. Thousandth is 0.001 in ("thou"), SixtyFourth is 1/64 in.
const (
	Millimetre Unit = iota
	Inch
	Thousandth
	SixtyFourth
)

// words that name a unit, the symbol first.
var words = [...][]string{
	Millimetre:  {"mm", "millimetre", "millimetres", "millimeter", "millimeters"},
	Inch:        {"in", "inch", "inches", `"`, "″"},
	Thousandth:  {"thou", "thousandth", "thousandths", "mil", "mils"},
	SixtyFourth: {"64ths", "64th", "/64", "sixty-fourths"},
}

// String is the unit's symbol: "mm", "in", "thou", "64ths".
func (u Unit) String() string { return words[u][0] }

// Parse returns the unit that a word names, in any case; ok is false for any other word.
func Parse(word string) (u Unit, ok bool) {
	for u, names := range words {
		for _, name := range names {
			if strings.EqualFold(word, name) {
				return Unit(u), true
			}
		}
	}
	return 0, false
}

// MM is how many mm one of the unit is.
func (u Unit) MM() float64 {
	switch u {
	case Inch:
		return MMPerInch
	case Thousandth:
		return MMPerInch / 1000
	case SixtyFourth:
		return MMPerInch / 64
	}
	return 1
}

// To turns a length in the unit into mm.
func (u Unit) To(v float64) float64 {
	if u == Thousandth { // 10 thou are 0.254 mm to the last bit
		return v * MMPerInch / 1000
	}
	return v * u.MM()
}

// From turns a length in mm into the unit.
func (u Unit) From(mm float64) float64 {
	if u == Thousandth {
		return mm * 1000 / MMPerInch
	}
	return mm / u.MM()
}

// Digits is how many decimals show a step of so many mm in the unit without losing it: 0.01 mm has 2 in mm and 4 in inch
// (0.0004 in). A step of 0 or less has those of 0.001 mm.
func (u Unit) Digits(stepMM float64) int {
	if !(stepMM > 0) {
		stepMM = 0.001
	}
	return max(0, int(math.Ceil(-math.Log10(u.From(stepMM))-1e-9)))
}

// Number writes a length given in mm in the unit, to so many decimals, without the unit; what rounds to nothing has no sign.
func (u Unit) Number(mm float64, decimals int, signed bool) string {
	text := strconv.FormatFloat(u.From(mm), 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	if signed && !strings.HasPrefix(text, "-") {
		return "+" + text
	}
	return text
}

// Length is Number with the unit's symbol.
func (u Unit) Length(mm float64, decimals int, signed bool) string {
	return u.Number(mm, decimals, signed) + " " + u.String()
}

// ReadLength reads a length as people write it and returns it in mm: "0.25", ".25", "0,25", "0.010 in", `0.010"`, "10 thou",
// "7/64", `7/64 in`, "1 7/64 in". A number without a unit is in the given one, a fraction without a unit in inches.
// Errors name what was found and what is allowed.
func ReadLength(text string, without Unit) (mm float64, err error) {
	value, u, given := splitUnit(strings.TrimSpace(text))
	if !given {
		u = without
	}
	if whole, fraction, ok := splitFraction(value); ok {
		if !given {
			u = Inch
		}
		if u != Inch && u != Millimetre {
			return 0, fmt.Errorf("found %q; a fraction is of an inch, such as 7/64", text)
		}
		return u.To(whole + fraction), nil
	}
	v, err := strconv.ParseFloat(strings.Replace(value, ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(value, "xXpP_") {
		return 0, fmt.Errorf("found %q; allowed: a length such as 0.25, 0,25 mm, 0.010 in, 10 thou or 7/64", text)
	}
	return u.To(v), nil
}

// splitUnit parts a unit's word from the number before it.
func splitUnit(text string) (value string, u Unit, given bool) {
	at := strings.IndexFunc(text, func(r rune) bool {
		return r != 'e' && r != 'E' && (r == '"' || r == '″' || r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z')
	})
	if strings.HasSuffix(text, "64ths") {
		at = len(text) - len("64ths")
	}
	if at < 0 {
		return text, 0, false
	}
	u, ok := Parse(text[at:])
	if !ok {
		return text, 0, false
	}
	return strings.TrimSpace(text[:at]), u, true
}

// splitFraction reads "7/64" and "1 7/64", with a sign before it.
func splitFraction(text string) (whole, fraction float64, ok bool) {
	sign := 1.0
	if rest, negative := strings.CutPrefix(text, "-"); negative {
		sign, text = -1, rest
	}
	text = strings.TrimPrefix(text, "+")
	before, after, slash := strings.Cut(text, "/")
	if !slash {
		return 0, 0, false
	}
	if w, top, mixed := strings.Cut(strings.TrimSpace(before), " "); mixed {
		n, err := strconv.ParseUint(w, 10, 16)
		if err != nil {
			return 0, 0, false
		}
		whole, before = float64(n), top
	}
	top, err := strconv.ParseUint(strings.TrimSpace(before), 10, 16)
	if err != nil {
		return 0, 0, false
	}
	below, err := strconv.ParseUint(strings.TrimSpace(after), 10, 16)
	if err != nil || below == 0 {
		return 0, 0, false
	}
	return sign * whole, sign * float64(top) / float64(below), true
}
