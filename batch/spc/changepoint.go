package spc

import "math"

// Change is where a level moved most likely, and by how much.
type Change struct {
	Since int     // first value of the new level, from 1
	By    float64 // mean of the values since less the level before
}

// fewestBack is how many values after the last signal show that a level came back: common practice, no source.
const fewestBack = 8

// Told reports whether a change from the level center is what signals of x tell of: the newest of those with a side lasts to the last
// value, or lies on the side to which the level moved, and so does the mean of the values after it, where there are enough of them.
// Newest is the last value of that signal, 0 where none has a side.
func (c Change) Told(signals []Signal, x []float64, center float64) (told bool, newest int) {
	side := 0
	for _, s := range signals {
		if s.Side != 0 && s.To > newest && s.Plotted != MovingRanges {
			side, newest = s.Side, s.To
		}
	}
	if newest == 0 || newest == len(x) {
		return newest > 0, newest
	}
	after := x[newest:]
	if len(after) >= fewestBack && float64(side)*(meanOf(after)-center) <= 0 {
		return false, newest
	}
	return float64(side)*c.By > 0, newest
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
