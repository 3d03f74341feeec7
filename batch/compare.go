package batch

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Comparison is an estimate with its confidence interval, and the probability P of one at least as far from no difference
// where there is none.
type Comparison struct{ Value, Low, High, P float64 }

// DifferenceOfMeans compares the mean of a with that of b without taking their spreads for equal (Welch):
//
//	a.Mean - b.Mean ± t sqrt(va + vb),  va = sa²/na, vb = sb²/nb,
//
// t the Student quantile of (1 + confidence)/2 with (va + vb)² / (va²/(na-1) + vb²/(nb-1)) degrees of freedom. ok is false
// where one side has fewer than two values, neither side any spread, or confidence lies outside 0 to 1.
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.3.1; B. L. Welch, Biometrika 34 (1947) 28-35.
func DifferenceOfMeans(a, b Moments, confidence float64) (d Comparison, ok bool) {
	sa, aKnown := a.SD()
	sb, bKnown := b.SD()
	if !aKnown || !bKnown || sa+sb == 0 || !(confidence > 0 && confidence < 1) {
		return Comparison{}, false
	}
	va, vb := sa*sa/float64(a.N), sb*sb/float64(b.N)
	df := (va + vb) * (va + vb) / (va*va/float64(a.N-1) + vb*vb/float64(b.N-1))
	d.Value = a.Mean - b.Mean
	half := distuv.StudentsT{Sigma: 1, Nu: df}.Quantile((1+confidence)/2) * math.Sqrt(va+vb)
	d.Low, d.High = d.Value-half, d.Value+half
	t := d.Value / math.Sqrt(va+vb)
	d.P = mathext.RegIncBeta(df/2, 0.5, df/(df+t*t)) // both tails of Student's t: Abramowitz and Stegun 26.7.1
	return d, true
}

// RatioOfDeviations compares the standard deviation of a with that of b, Normal values taken for granted:
//
//	sa/sb / sqrt(F(na-1, nb-1; (1 + confidence)/2))  to  sa/sb sqrt(F(nb-1, na-1; (1 + confidence)/2)),
//
// F the quantile of the F distribution. ok is false where one side has fewer than two values or no spread, or confidence
// lies outside 0 to 1. Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.9 (the test turned into an interval).
func RatioOfDeviations(a, b Moments, confidence float64) (r Comparison, ok bool) {
	sa, aKnown := a.SD()
	sb, bKnown := b.SD()
	if !aKnown || !bKnown || sa == 0 || sb == 0 || !(confidence > 0 && confidence < 1) {
		return Comparison{}, false
	}
	da, db := float64(a.N-1), float64(b.N-1)
	r.Value = sa / sb
	upper := (1 + confidence) / 2
	r.Low = r.Value / math.Sqrt(fQuantile(da, db, upper))
	r.High = r.Value * math.Sqrt(fQuantile(db, da, upper))
	below := mathext.RegIncBeta(da/2, db/2, da*r.Value*r.Value/(db+da*r.Value*r.Value))
	above := mathext.RegIncBeta(db/2, da/2, db/(db+da*r.Value*r.Value))
	r.P = min(1, 2*min(below, above))
	return r, true
}

// fQuantile is the quantile p of the F distribution with d1 and d2 degrees of freedom, by that of the beta distribution.
// Source: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), 26.6.2.
func fQuantile(d1, d2, p float64) float64 {
	x := mathext.InvRegIncBeta(d1/2, d2/2, p)
	return d2 * x / (d1 * (1 - x))
}
