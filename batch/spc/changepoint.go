package spc

import "math"

// Change is where a level moved most likely, and by how much.
type Change struct {
	Since int     // first value of the new level, from 1
	By    float64 // mean of the values since less the level before
}

// ChangeOf looks among the values after index after (from 0: those before belong to the base) for the point from which on the mean of
// all further values lies furthest from the level center, in standard deviations of such a mean: the maximum likelihood estimate of a
// single lasting change. False where no value is left.
// Source: J. J. Pignatiello and T. R. Samuel, Journal of Quality Technology 33 (2001) 82-95.
func ChangeOf(x []float64, after int, center float64) (c Change, found bool) {
	sum, best := 0.0, math.Inf(-1)
	for i := len(x) - 1; i >= after; i-- {
		sum += x[i] - center
		n := float64(len(x) - i)
		if v := sum * sum / n; v > best {
			best, c, found = v, Change{i + 1, sum / n}, true
		}
	}
	return c, found
}
