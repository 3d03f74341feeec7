package tell

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Scale is how values of a characteristic are written: in which unit and to which step. The zero Scale is for values whose
// unit and step nobody stated: they are written to five digits.
type Scale struct {
	Of     string    // unit in the record: "mm", "deg", "cents"; "" none stated
	In     unit.Unit // of lengths
	StepMM float64   // of the gauge or the specification, of lengths; 0: 0.001 mm, as statistics of readings are written
}

// Decimals are those of a value: of a length by its step, two of an angle, one of cents.
func (s Scale) Decimals() int {
	switch s.Of {
	case "deg":
		return 2
	case "cents":
		return 1
	}
	return s.In.Digits(s.StepMM)
}

// Number writes a value without its unit, with a true minus.
func (s Scale) Number(v float64) string {
	switch s.Of {
	case "":
		return figures(v, 5)
	case "mm":
		v = s.In.From(v)
	}
	return inspect.Number(v, s.Decimals(), false)
}

// Symbol is the unit that values are written in, "" where none is stated.
func (s Scale) Symbol() string {
	if s.Of == "mm" {
		return s.In.String()
	}
	return s.Of
}

// Value writes a value with its unit.
func (s Scale) Value(v float64) string { return strings.TrimSpace(s.Number(v) + " " + s.Symbol()) }

// figures writes a number with so many digits and a true minus.
func figures(v float64, digits int) string {
	return strings.ReplaceAll(fmt.Sprintf("%.*g", digits, v), "-", "−")
}

// Figure writes a statistic without a unit to four digits, a dash where it is not defined.
func Figure(v *float64) string {
	if v == nil {
		return "–"
	}
	return figures(*v, 4)
}

// Chance writes a probability: a small one as a bound, a dash where it is not defined.
func Chance(p *float64) string {
	switch {
	case p == nil:
		return "–"
	case *p < 0.0001:
		return "< 0.0001"
	}
	return figures(*p, 2)
}

// Nominal writes a length that somebody stated, with its unit: in mm as it was written, in other units to 0.00001.
func Nominal(mm float64, in unit.Unit) string { return NominalNumber(mm, in) + " " + in.String() }

// NominalNumber is Nominal without the unit.
func NominalNumber(mm float64, in unit.Unit) string {
	if in == unit.Millimetre {
		return exact(mm)
	}
	return exact(math.Round(in.From(mm)*1e5) / 1e5)
}

// exact writes a number with as many decimals as it takes and a true minus.
func exact(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), "-", "−", 1)
}

// Between writes a pair of limits, either of which may be absent: "0.2 to 0.36", "lower limit 0.2", "upper limit 0.36"; "" without
// any. write writes one of them.
func Between(lower, upper *float64, write func(v float64) string) string {
	switch {
	case lower == nil && upper == nil:
		return ""
	case lower == nil:
		return UpperLimit + " " + write(*upper)
	case upper == nil:
		return LowerLimit + " " + write(*lower)
	}
	return write(*lower) + " to " + write(*upper)
}

// The two limits of a specification, as they are labelled.
const (
	LowerLimit = "lower limit"
	UpperLimit = "upper limit"
)
