package export

import (
	"fmt"
	"math"

	"sagitta/inspect"
)

// unit is the unit that lengths are written in.
type unit struct {
	name     string
	mm       float64 // millimetres in one
	min, max int     // decimals
}

// newUnit returns the unit of that name; one inch is 25.4 mm exactly (international inch, 1959; ISO 80000-3, annex).
func newUnit(name string) (unit, error) {
	switch name {
	case "", "mm":
		return unit{"mm", 1, 2, 4}, nil
	case "in":
		return unit{"in", 25.4, 4, 5}, nil
	}
	return unit{}, fmt.Errorf("unit %q is not known; allowed are \"mm\" and \"in\"", name)
}

// from converts mm.
func (u unit) from(mm float64) float64 { return mm / u.mm }

// decimals is how many show every step of a resolution in mm; 0.001 mm where it is not known.
func (u unit) decimals(resolutionMM float64) int {
	if resolutionMM <= 0 {
		resolutionMM = 0.001
	}
	d := int(math.Ceil(-math.Log10(u.from(resolutionMM)) - 1e-9))
	return min(max(d, u.min), u.max)
}

// shown is a characteristic's or reading's value with its unit as written: lengths are converted, degrees and cents stay.
func (u unit) shown(value float64, name string) float64 {
	if name == "mm" {
		return u.from(value)
	}
	return value
}

// label is the written name of a characteristic's unit.
func (u unit) label(name string) string {
	if name == "mm" {
		return u.name
	}
	return name
}

// decimalsOf are a characteristic's decimals: of length as given, two of an angle (0.01 degrees), one of cents.
func decimalsOf(name string, length int) int {
	if d, fixed := inspect.DecimalsOf(name); fixed {
		return d
	}
	return length
}
