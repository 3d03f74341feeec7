package show

import (
	"math"
	"strconv"
	"strings"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Rounded is how a characteristic of a specification's neck is written in the page's unit: to the gauge's step.
func Rounded(spec *inspect.Spec, c *inspect.Characteristic, lengths unit.Unit) inspect.Rounding {
	return c.Rounded(spec.Uncertainty.ResolutionMM, lengths.MM())
}

// Value writes a value of a characteristic: lengths in the page's unit, degrees to 0.01, cents to 0.1.
func Value(v float64, in string, lengths unit.Unit, signed bool) string {
	if decimals, fixed := inspect.DecimalsOf(in); fixed {
		return Fixed(v, decimals, signed)
	}
	if signed {
		return Signed(v, lengths)
	}
	return Number(v, lengths)
}

// Fixed writes a number with its decimals, with a true minus; signed also with a plus.
func Fixed(v float64, decimals int, signed bool) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	zero := strings.Trim(s, "0.") == ""
	switch {
	case v < 0 && !zero:
		return "−" + s
	case signed && !zero:
		return "+" + s
	}
	return s
}

// Probability writes a conformance probability; near its ends it says only how near.
func Probability(p float64) string {
	switch {
	case p < 0.001:
		return "< 0.001"
	case p > 0.999:
		return "> 0.999"
	}
	return strconv.FormatFloat(p, 'f', 3, 64)
}
