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

// value is what a person typed: a number and its unit ("mm", "in", "thou", "cents" or "hz").
type value struct {
	number   float64
	expanded *float64 // its expanded uncertainty U, twice the standard one, in the same unit; nil where none was typed
	unit     string
	digits   string    // as typed, without the unit
	bare     bool      // the unit is the page's, not typed
	stack    []float64 // thicknesses of leaves laid together, mm, of which it is the sum; nil for one length
}

var typedValue = regexp.MustCompile(`^([+-]?(?:(?:\d+\s+)?\d+\s*/\s*\d+|\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:(?:±|\+/?-)\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*)?([a-z]+|["″])?$`)

// parseValue reads "0.31", ".012in", "7/64", "10 thou", "-3 cents", "82.4 Hz", "1.95 ± 0.04 mm"; a decimal comma is accepted, and a
// fraction is of an inch. "0.15+0.08" are two leaves laid together. ok is false for anything else.
func parseValue(text, without string) (value, bool) {
	m := typedValue.FindStringSubmatch(strings.ToLower(strings.TrimSpace(text)))
	if m == nil {
		return parseStack(text, without)
	}
	v := value{digits: m[1]}
	if v.unit = unitOf(m[3]); v.unit == "" && m[3] != "" {
		return value{}, false
	}
	if strings.Contains(m[1], "/") {
		if v.unit != "" && v.unit != unit.Inch.String() {
			return value{}, false
		}
		v.unit = unit.Inch.String()
	}
	if v.unit == "" {
		v.unit, v.bare = without, true
	}
	var ok bool
	if v.number, ok = numberOf(m[1]); !ok {
		return value{}, false
	}
	if m[2] != "" {
		expanded, ok := numberOf(m[2])
		if !ok {
			return value{}, false
		}
		v.expanded = &expanded
	}
	return v, true
}

// parseStack reads leaves laid together; those without a unit have that of the last, else the given one.
func parseStack(text, without string) (value, bool) {
	parts := strings.Split(text, "+")
	if len(parts) != 2 {
		return value{}, false
	}
	if last, ok := parseValue(parts[1], without); ok {
		without = last.unit
	}
	v := value{digits: strings.Join(strings.Fields(text), ""), unit: unit.Millimetre.String()}
	for _, part := range parts {
		leaf, ok := parseValue(part, without)
		mm, length := leaf.mm()
		if !ok || !length || leaf.expanded != nil || leaf.stack != nil || mm <= 0 {
			return value{}, false
		}
		v.stack = append(v.stack, mm)
	}
	v.number = Thickness(v.stack)
	return v, true
}

// unitOf is the unit that a word means where a value is typed, "" for none.
func unitOf(word string) string {
	switch word {
	case "c", "cent", "cents":
		return "cents"
	case "hz":
		return "hz"
	}
	if u, ok := unit.Parse(word); ok && u != unit.SixtyFourth {
		return u.String()
	}
	return ""
}

// numberOf reads a number as people write it, "7/64" and "1 7/64" too.
func numberOf(text string) (float64, bool) {
	n, err := unit.ReadLength(text, unit.Inch)
	if err != nil {
		return 0, false
	}
	if strings.Contains(text, "/") {
		return unit.Inch.From(n), true
	}
	n, err = strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	return n, err == nil && !math.IsInf(n, 0)
}

// lengthWords writes a length in both units, for a message that any page may show.
func lengthWords(mm float64) string {
	return fmt.Sprintf("%s (%s)", unit.Millimetre.Length(mm, 3, false), unit.Inch.Length(mm, 4, false))
}

// u is the standard uncertainty, mm, of a length typed for a kind of point: half of what was typed with it, that of two leaves laid together, else that of a ruler
// for a string's height, which is less sure where a fraction was read; 0, and the specification's applies, for what is read from a dial.
func (v value) u(k batch.Kind) (float64, error) {
	leaf := k.IsLeaf()
	switch {
	case v.stack != nil && leaf:
		return batch.StackU, nil
	case v.stack != nil:
		return 0, batch.Mendable.Errorf("%s: only leaves are laid together; type one length", v.digits)
	case v.expanded == nil && (k == batch.ActionHeight || k == batch.NutHeight) && strings.Contains(v.digits, "/"):
		return batch.SixtyFourthU, nil
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

// leaves are the thicknesses of what was typed as a leaf of mm, or as several laid together.
func (v value) leaves(mm float64) []float64 {
	if v.stack != nil {
		return v.stack
	}
	return []float64{mm}
}
