// Package spc is statistical process control of a series of values: control charts with their run tests, capability, a
// test for normality, summaries and yields. Pure functions: no files, no clock. Values carry the unit of the readings and
// stand in the order in which they were taken; points and subgroups count from 1; nothing is rounded.
//
// Definitions follow ISO 7870-2 (Shewhart charts), ISO 7870-4 (CUSUM), ISO 7870-6 (EWMA) and ISO 22514-2 (capability), with
// Cp, Cpk from the sigma within subgroups and Pp, Ppk from the overall sigma. Standard deviations use the divisor n - 1.
package spc

import (
	"fmt"
	"math"

	"sagitta/batch/study"
)

// ValueError is a value that cannot be used.
type ValueError struct {
	Index   int    // among the values given, from 1; of subgroups: among all values, subgroup after subgroup
	Field   string // value, count or size
	Problem string // what was found and what is allowed
}

// Error says it with the value's place.
func (e ValueError) Error() string { return fmt.Sprintf("%s %d: %s", e.Field, e.Index, e.Problem) }

// OptionError is an option that cannot be used.
type OptionError struct {
	Option  string // base, center, sigma, lambda, width, k, h, head start, lower, upper, target, confidence, distribution
	Problem string // what was found and what is allowed
}

// Error says it with the option's name.
func (e OptionError) Error() string { return e.Option + ": " + e.Problem }

// largest is the size up to which values can be squared and summed.
const largest = 1e150

// checkValues refuses the first value that is not a finite number or too large to square.
func checkValues(x []float64) error {
	for i, v := range x {
		if !(math.Abs(v) <= largest) {
			return ValueError{i + 1, "value", fmt.Sprintf("found %v; allowed: a finite number, no larger than 1e150", v)}
		}
	}
	return nil
}

// checkOption refuses an option that is not finite; above 0 where it must be.
func checkOption(option string, v float64, positive bool) error {
	switch {
	case positive && !(v > 0 && v <= largest):
		return OptionError{option, fmt.Sprintf("found %v; allowed: a finite number above 0", v)}
	case !(math.Abs(v) <= largest):
		return OptionError{option, fmt.Sprintf("found %v; allowed: a finite number", v)}
	}
	return nil
}

// meanOf is the mean of x, exact where all are equal.
func meanOf(x []float64) float64 {
	m, _ := study.Moments(x)
	return m
}

// standardDeviation is sqrt(sum (x - mean)^2 / (n - 1)); NaN below two values.
func standardDeviation(x []float64) float64 {
	if len(x) < 2 {
		return math.NaN()
	}
	_, ss := study.Moments(x)
	return math.Sqrt(ss / float64(len(x)-1))
}

// movingRanges are |x[i] - x[i-1]|, one fewer than the values.
func movingRanges(x []float64) []float64 {
	ranges := make([]float64, max(len(x)-1, 0))
	for i := range ranges {
		ranges[i] = math.Abs(x[i+1] - x[i])
	}
	return ranges
}

// flatten puts subgroups end to end.
func flatten(groups [][]float64) []float64 {
	n := 0
	for _, g := range groups {
		n += len(g)
	}
	x := make([]float64, 0, n)
	for _, g := range groups {
		x = append(x, g...)
	}
	return x
}
