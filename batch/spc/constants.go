package spc

import (
	"math"
	"sync"

	"sagitta/batch/study"
)

// C4 is the mean of the standard deviation of n values over their sigma, n at least 2; NaN below:
//
//	c4 = sqrt(2/(n-1)) gamma(n/2) / gamma((n-1)/2)
//
// Source: ISO 7870-2:2013, Table 2; ASTM MNL 7, section 3.
func C4(n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	return c4Of(float64(n - 1))
}

// D3 is the standard deviation of the range of n values over their sigma, n at least 2; NaN below. The mean of the squared
// range is d2^2 + d3^2, which one range alone gives as d2*^2. Source: see [study.D2Star].
func D3(n int) float64 {
	d2, star := study.D2(n), study.D2Star(n, 1)
	return math.Sqrt(star*star - d2*d2)
}

// factors are the mean and the standard deviation of a subgroup's spread, both over sigma: d2 ([study.D2]) and d3 of its range, or c4
// and sqrt(1 - c4^2) of its standard deviation.
type factors struct{ mean, sd float64 }

// rangesKnown keeps the factors of ranges by n: integrating takes longer than a chart of a thousand points.
var rangesKnown sync.Map

func rangeFactors(n int) factors {
	if f, ok := rangesKnown.Load(n); ok {
		return f.(factors)
	}
	f := factors{study.D2(n), D3(n)}
	rangesKnown.Store(n, f)
	return f
}

func deviationFactors(n int) factors {
	c4 := C4(n)
	return factors{c4, math.Sqrt(1 - c4*c4)}
}

// limits are the centre line and the three-sigma limits of the spread's chart, the lower not below 0: d2, D1 and D2 (or
// c4, B5 and B6) times sigma. Source: ISO 7870-2:2013, Table 2.
func (f factors) limits(sigma float64) (center, lower, upper float64) {
	return f.mean * sigma, max(0, f.mean-3*f.sd) * sigma, (f.mean + 3*f.sd) * sigma
}
