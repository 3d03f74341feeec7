package bench

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"sagitta/inspect/unit"
)

// value is what a person typed: a number and its unit ("mm", "in", "cents" or "hz"; "" where none was given).
type value struct {
	number float64
	unit   string
	digits string // as typed, without the unit
	bare   bool   // the unit is the page's, not typed
}

var typedValue = regexp.MustCompile(`^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(mm|in|"|c|cents?|hz)?$`)

// parseValue reads "0.31", ".012in", "-3 cents", "82.4 Hz"; a decimal comma is accepted. ok is false for anything else.
func parseValue(text, without string) (value, bool) {
	m := typedValue.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return value{}, false
	}
	n, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
	if err != nil || math.IsInf(n, 0) {
		return value{}, false
	}
	v := value{number: n, unit: m[2], digits: m[1]}
	switch v.unit {
	case "":
		v.unit, v.bare = without, true
	case `"`:
		v.unit = "in"
	case "c", "cent":
		v.unit = "cents"
	}
	return v, true
}

// lengthWords writes a length in both units, for a message that any page may show.
func lengthWords(mm float64) string {
	return fmt.Sprintf("%s (%s)", unit.Millimetre.Length(mm, 3, false), unit.Inch.Length(mm, 4, false))
}

// mm converts a length; ok is false where the value is no length.
func (v value) mm() (mm float64, ok bool) {
	u, ok := unit.Parse(v.unit)
	return u.To(v.number), ok
}
