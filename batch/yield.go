package batch

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Wilson returns the score interval for a proportion of k successes in n trials, with z the standard Normal quantile of
// (1 + confidence)/2 and p = k/n:
//
//	(p + z²/2n ± z sqrt(p(1-p)/n + z²/4n²)) / (1 + z²/n)
//
// It never leaves 0 to 1. Without trials, or with a confidence outside 0 to 1, it is 0 to 1: nothing is known.
// Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927) 209-212.
func Wilson(k, n int, confidence float64) (lo, hi float64) {
	if n <= 0 || k < 0 || k > n || !(confidence > 0 && confidence < 1) {
		return 0, 1
	}
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	trials, p := float64(n), float64(k)/float64(n)
	centre := p + z*z/(2*trials)
	half := z * math.Sqrt(p*(1-p)/trials+z*z/(4*trials*trials))
	scale := 1 + z*z/trials
	lo, hi = (centre-half)/scale, (centre+half)/scale
	if k == 0 {
		lo = 0
	}
	if k == n {
		hi = 1
	}
	return max(lo, 0), min(hi, 1)
}

// ClopperPearson returns the exact interval for a proportion of k successes in n trials, from the quantiles of the beta
// distribution: lower B((1-c)/2; k, n-k+1), upper B((1+c)/2; k+1, n-k). Degenerate arguments give 0 to 1, as Wilson.
// Source: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
func ClopperPearson(k, n int, confidence float64) (lo, hi float64) {
	if n <= 0 || k < 0 || k > n || !(confidence > 0 && confidence < 1) {
		return 0, 1
	}
	lo, hi = 0, 1
	if k > 0 {
		lo = mathext.InvRegIncBeta(float64(k), float64(n-k+1), (1-confidence)/2)
	}
	if k < n {
		hi = mathext.InvRegIncBeta(float64(k+1), float64(n-k), (1+confidence)/2)
	}
	return lo, hi
}

// Newcombe returns the hybrid score interval for the difference of two proportions p1 = k1/n1 less p2 = k2/n2, from the
// Wilson limits l and u of each:
//
//	p1 - p2 - sqrt((p1-l1)² + (u2-p2)²)  to  p1 - p2 + sqrt((u1-p1)² + (p2-l2)²)
//
// Where Wilson knows nothing of one of them it is -1 to 1. Source: R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890,
// method 10.
func Newcombe(k1, n1, k2, n2 int, confidence float64) (lo, hi float64) {
	l1, u1 := Wilson(k1, n1, confidence)
	l2, u2 := Wilson(k2, n2, confidence)
	if l1 == 0 && u1 == 1 || l2 == 0 && u2 == 1 {
		return -1, 1
	}
	p1, p2 := float64(k1)/float64(n1), float64(k2)/float64(n2)
	return p1 - p2 - math.Hypot(p1-l1, u2-p2), p1 - p2 + math.Hypot(u1-p1, p2-l2)
}

// FirstPassYield is the share of inspected necks that passed at their first inspection, 0 to 1; ok is false while
// nothing has been inspected.
func (c Counts) FirstPassYield() (yield float64, ok bool) {
	return share(c.FirstPass, c.Inspected)
}

// FinalYield is the share of inspected necks whose newest disposition is pass, 0 to 1; ok is false while nothing has
// been inspected. A concession is not a pass.
func (c Counts) FinalYield() (yield float64, ok bool) {
	return share(c.Passed, c.Inspected)
}

func share(k, n int) (float64, bool) {
	if n <= 0 {
		return 0, false
	}
	return float64(k) / float64(n), true
}
