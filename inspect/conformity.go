package inspect

import (
	"fmt"
	"math"

	"sagitta/inspect/fit"
)

// ConformProbability returns the probability that the true value lies inside the limits, given the measured value y and
// its standard uncertainty u: Phi((upper - y)/u) - Phi((lower - y)/u) with Phi the standard Normal distribution
// (JCGM 106:2012, 7.2 to 7.4). A nil limit is absent; with both absent it is 1. u = 0 gives 1 or 0, the limits themselves
// belonging to the conforming side. Tails keep their relative digits (2e-24 is not 0). Arguments that describe no
// distribution (NaN, u < 0) give 0: nothing is known to conform.
func ConformProbability(y, u float64, lower, upper *float64) float64 {
	if math.IsNaN(y) || !(u >= 0) {
		return 0
	}
	a, b := math.Inf(-1), math.Inf(1)
	if lower != nil {
		a = standardised(*lower-y, u, -1)
	}
	if upper != nil {
		b = standardised(*upper-y, u, 1)
	}
	p := normalBetween(a, b)
	if !(p > 0) {
		return 0
	}
	return math.Min(p, 1)
}

// standardised returns d/u; at u = 0 it is infinite, with the given sign when d is 0 as well (the bound conforms).
func standardised(d, u, zeroSign float64) float64 {
	switch {
	case u > 0:
		return d / u
	case d == 0:
		return math.Inf(int(zeroSign))
	case math.IsNaN(d):
		return d
	}
	return math.Inf(int(math.Copysign(1, d)))
}

// normalBetween returns Phi(b) - Phi(a), adding or subtracting whichever tails lose fewest digits.
func normalBetween(a, b float64) float64 {
	const root = math.Sqrt2
	switch {
	case a > 0:
		return (math.Erfc(a/root) - math.Erfc(b/root)) / 2
	case b < 0:
		return (math.Erfc(-b/root) - math.Erfc(-a/root)) / 2
	}
	return (math.Erf(b/root) + math.Erf(-a/root)) / 2
}

// Judge places a measured value y with standard uncertainty u against its limits by the decision rule of the
// specification (ISO 14253-1, JCGM 106:2012, 8). With g = guardFactor u:
//
//   - "simple": Conforming inside the limits, else Nonconforming;
//   - "guarded_acceptance": Conforming inside the limits drawn in by g, Nonconforming outside the limits, Undecided between;
//   - "guarded_rejection": Conforming inside the limits, Nonconforming outside the limits moved out by g, Undecided between.
//
// A value on a bound belongs to the better zone. With both limits nil the zone is NoLimit. Numbers that are not finite, a
// negative u or guard factor, a lower limit above the upper and an unknown rule are errors.
func Judge(rule string, guardFactor, y, u float64, lower, upper *float64) (Zone, error) {
	lo, hi, err := judgedLimits(guardFactor, y, u, lower, upper)
	if err != nil {
		return "", err
	}
	g := guardFactor * u
	var within, beyond float64 // how far the conforming limits are drawn in, how far the nonconforming ones lie out
	switch rule {
	case "simple":
	case "guarded_acceptance":
		within = g
	case "guarded_rejection":
		beyond = g
	default:
		return "", fmt.Errorf("decision rule %q is unknown: use simple, guarded_acceptance or guarded_rejection", rule)
	}
	switch {
	case lower == nil && upper == nil:
		return NoLimit, nil
	case y >= lo+within && y <= hi-within:
		return Conforming, nil
	case y < lo-beyond || y > hi+beyond:
		return Nonconforming, nil
	}
	return Undecided, nil
}

// judgedLimits checks Judge's numbers and returns the limits, infinite where absent.
func judgedLimits(guardFactor, y, u float64, lower, upper *float64) (lo, hi float64, err error) {
	numbers := [5]float64{guardFactor, y, u} // an absent limit counts as 0
	lo, hi = math.Inf(-1), math.Inf(1)
	if lower != nil {
		lo = *lower
		numbers[3] = lo
	}
	if upper != nil {
		hi = *upper
		numbers[4] = hi
	}
	if err := fit.CheckNumbers("guard factor, value, uncertainty, limits", numbers[:]); err != nil {
		return 0, 0, err
	}
	switch {
	case guardFactor < 0:
		return 0, 0, fmt.Errorf("guard factor %v is negative: give 0 or more (1.645 by default)", guardFactor)
	case u < 0:
		return 0, 0, fmt.Errorf("standard uncertainty %v is negative: give 0 or more", u)
	case lo > hi:
		return 0, 0, fmt.Errorf("lower limit %v is above the upper limit %v: exchange or correct them", lo, hi)
	}
	return lo, hi, nil
}
