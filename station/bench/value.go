package bench

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/inspect/unit"
)

// value is what a person typed: a number and its unit ("mm", "in", "cents" or "hz"; "" where none was given).
type value struct {
	number   float64
	expanded *float64 // its expanded uncertainty U, twice the standard one, in the same unit; nil where none was typed
	unit     string
	digits   string // as typed, without the unit
	bare     bool   // the unit is the page's, not typed
}

var typedValue = regexp.MustCompile(`^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:(?:±|\+/?-)\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*)?(mm|in|"|c|cents?|hz)?$`)

// parseValue reads "0.31", ".012in", "-3 cents", "82.4 Hz", "1.95 ± 0.04 mm"; a decimal comma is accepted. ok is false for
// anything else.
func parseValue(text, without string) (value, bool) {
	m := typedValue.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return value{}, false
	}
	number := func(text string) (float64, bool) {
		n, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		return n, err == nil && !math.IsInf(n, 0)
	}
	v := value{unit: m[3], digits: m[1]}
	var ok bool
	if v.number, ok = number(m[1]); !ok {
		return value{}, false
	}
	if m[2] != "" {
		expanded, ok := number(m[2])
		if !ok {
			return value{}, false
		}
		v.expanded = &expanded
	}
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

// u is the standard uncertainty, mm, of a length typed for a kind of point: half of what was typed with it, else that of a ruler
// for a string's height; 0, and the specification's applies, for what is read from a dial.
func (v value) u(k batch.Kind) (float64, error) {
	leaf := k == batch.LeafPasses || k == batch.LeafStops
	switch {
	case v.expanded == nil && (k == batch.ActionHeight || k == batch.NutHeight):
		return batch.RulerU, nil
	case v.expanded == nil:
		return 0, nil
	case leaf:
		return 0, batch.Mendable.Errorf("± %g was typed with a leaf: how sure a relief is comes from the leaf that passes and the one that does not; type the leaf's thickness alone", *v.expanded)
	}
	unit, _ := unit.Parse(v.unit)
	mm := unit.To(*v.expanded)
	if !(mm > 0 && mm <= 10) {
		return 0, batch.Mendable.Errorf("± %g %s: an uncertainty is more than 0, at most 10 mm; twice the standard uncertainty is typed", *v.expanded, v.unit)
	}
	return mm / 2, nil
}

// mm converts a length; ok is false where the value is no length.
func (v value) mm() (mm float64, ok bool) {
	u, ok := unit.Parse(v.unit)
	return u.To(v.number), ok
}
