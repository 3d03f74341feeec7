// Package fit makes least-squares fits and what rests on them: reference surfaces, the bend curve, circles, and the
// uncertainty of what is computed from uncertain numbers. Pure functions.
package fit

import (
	"errors"
	"fmt"
	"math"
)

// Errors of the numeric kernels; each comes wrapped with what was found and what is allowed.
var (
	ErrTooFew       = errors.New("too few points")
	ErrNotFinite    = errors.New("not a usable number")
	ErrShape        = errors.New("lengths do not match")
	ErrDegenerate   = errors.New("points do not determine the fit")
	ErrFlat         = errors.New("points lie on a straight line")
	ErrNotConverged = errors.New("no optimum found")
)

// largestNumber bounds what the kernels accept, so that no square or sum of squares overflows.
const largestNumber = 1e100

// CheckNumbers refuses NaN, infinities and magnitudes above largestNumber, naming the first one found.
func CheckNumbers(what string, values []float64) error {
	if i := firstUnusable(values); i >= 0 {
		return Unusable(what, i, values[i])
	}
	return nil
}

// firstUnusable returns the first entry that is not usable, -1 when all are.
func firstUnusable(values []float64) int {
	for i, v := range values {
		if !Usable(v) {
			return i
		}
	}
	return -1
}

// Usable reports whether v is a number that the kernels accept.
func Usable(v float64) bool { return math.Abs(v) <= largestNumber }

// Unusable returns the error for an entry that is not usable.
func Unusable(what string, entry int, v float64) error {
	return fmt.Errorf("%w: %s, entry %d, is %v; give finite numbers of at most %g", ErrNotFinite, what, entry, v, largestNumber)
}

// SameLengths checks that coordinates of points are equally many and at least the fewest that make sense.
func SameLengths(fewest int, what string, z []float64, others ...[]float64) error {
	for _, o := range others {
		if len(o) != len(z) {
			return fmt.Errorf("%w: %s has %d places and %d heights", ErrShape, what, len(o), len(z))
		}
		if i := firstUnusable(o); i >= 0 {
			return Unusable(what+", place", i, o[i])
		}
	}
	if len(z) < fewest {
		return fmt.Errorf("%w: %s has %d, needs at least %d", ErrTooFew, what, len(z), fewest)
	}
	if i := firstUnusable(z); i >= 0 {
		return Unusable(what+", height", i, z[i])
	}
	return nil
}
