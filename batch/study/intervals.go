package study

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a two-sided 95 % confidence interval, in the unit of what it encloses.
type Interval struct{ Low, High float64 }

const tail = 0.025 // beyond each end of an interval

// interval encloses the square root of a sum of weighted mean squares. One mean square: by chi-square, exact. Positive
// weights only: the modified large-sample interval of F. A. Graybill and C.-M. Wang, Journal of the American Statistical
// Association 75 (1980) 869-873. A difference of two: that of N. Ting, R. K. Burdick, F. A. Graybill, S. Jeyaratnam and
// T.-F. C. Lu, Journal of Statistical Computation and Simulation 35 (1990) 135-143. Both as in R. K. Burdick, C. M. Borror
// and D. C. Montgomery, Design and Analysis of Gauge R&R Studies (SIAM, 2005). An end below 0 is 0; nil where a mean
// square is 0.
func interval(terms []term) *Interval {
	sum, below, above := 0.0, 0.0, 0.0
	for _, t := range terms {
		if t.ss <= 0 {
			return nil
		}
		part := t.weight * t.ms()
		sum += part
		down, up := shrink(t.df), stretch(t.df)
		if part < 0 {
			down, up = up, down
		}
		below += down * down * part * part
		above += up * up * part * part
	}
	if len(terms) == 2 && terms[1].weight < 0 {
		first, second := terms[0], terms[1]
		product := -first.weight * second.weight * first.ms() * second.ms()
		f := fQuantile(first.df, second.df, tail)
		g, h := shrink(first.df), stretch(second.df)
		below += ((f-1)*(f-1) - g*g*f*f - h*h) / f * product
		f = fQuantile(first.df, second.df, 1-tail)
		g, h = shrink(second.df), stretch(first.df)
		above += ((1-f)*(1-f) - h*h*f*f - g*g) / f * product
	}
	return &Interval{math.Sqrt(max(0, sum-math.Sqrt(max(0, below)))), math.Sqrt(max(0, sum+math.Sqrt(max(0, above))))}
}

// shrink is G = 1 - df/(upper chi-square quantile): how far below a mean square its expectation may lie, as a share of it.
func shrink(df int) float64 {
	return 1 - float64(df)/distuv.ChiSquared{K: float64(df)}.Quantile(1-tail)
}

// stretch is H = df/(lower chi-square quantile) - 1: how far above.
func stretch(df int) float64 {
	return float64(df)/distuv.ChiSquared{K: float64(df)}.Quantile(tail) - 1
}

// fQuantile is the point that F with d1 and d2 degrees of freedom exceeds with probability upper.
func fQuantile(d1, d2 int, upper float64) float64 {
	y := mathext.InvRegIncBeta(float64(d2)/2, float64(d1)/2, upper)
	return float64(d2) * (1 - y) / (float64(d1) * y)
}
