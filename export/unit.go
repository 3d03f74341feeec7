package export

import (
	"fmt"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// lengths is the unit that lengths are written in, with the least and most decimals.
type lengths struct {
	unit.Unit
	min, max int
}

// newUnit returns the unit of that name.
func newUnit(name string) (lengths, error) {
	switch name {
	case "", "mm":
		return lengths{unit.Millimetre, 2, 4}, nil
	case "in":
		return lengths{unit.Inch, 4, 5}, nil
	}
	return lengths{}, fmt.Errorf("unit %q is not known; allowed are \"mm\" and \"in\"", name)
}

// decimals is how many show every step of a resolution in mm; 0.001 mm where it is not known.
func (u lengths) decimals(resolutionMM float64) int {
	return min(max(u.Digits(resolutionMM), u.min), u.max)
}

// shown is a characteristic's or reading's value with its unit as written: lengths are converted, degrees and cents stay.
func (u lengths) shown(value float64, name string) float64 {
	if name == "mm" {
		return u.From(value)
	}
	return value
}

// label is the written name of a characteristic's unit.
func (u lengths) label(name string) string {
	if name == "mm" {
		return u.String()
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
