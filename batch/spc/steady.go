package spc

import (
	"math"

	"sagitta/batch/study"
)

// Steadiness is whether the level of a series, in the order it was taken, moves by more than chance: from value to value
// (von Neumann's ratio) or for long stretches (cumulative sums). Both take independent values of any one distribution for
// the steady process. The zero value is of a series that is too short or shows no spread.
type Steadiness struct {
	N      int
	Ratio  float64 // sum of squared successive differences over the sum of squares about the mean; 2 by chance
	RatioP float64 // probability of so small a ratio, or a smaller one, from a steady process
	Sum    float64 // largest |sum of the first k deviations from the mean|, over s sqrt n
	SumP   float64 // probability of so large a sum, or a larger one
	At     int     // the k of that sum, from 1: after this value the level changes most
	Moving float64 // share of the variance that the level's movement makes: the larger of 1 - Ratio/2 and of one step after At
}

// FewestForSteadiness is the number of values below which steadiness is not judged; as for capability.
const FewestForSteadiness = FewForCapability

// UnsteadyBelow is the probability below which a series is said not to be steady: one of a hundred steady ones is.
const UnsteadyBelow = 0.01

// SteadinessOf looks at a series. With d the deviations from the mean,
//
//	Ratio = sum (d[i+1] - d[i])^2 / sum d[i]^2,  (1 - Ratio/2) / sqrt((n - 2)/(n^2 - 1)) is Normal
//	Sum = max over k < n of |d[1] + ... + d[k]| / (s sqrt n),  P(Sum > x) = 2 sum over j of (-1)^(j-1) exp(-2 j^2 x^2)
//
// Sources: J. von Neumann, Annals of Mathematical Statistics 12 (1941) 367-395; W. Ploberger and W. Krämer, Econometrica 60
// (1992) 271-285; A. Kolmogorov's distribution: M. A. Stephens, Journal of the Royal Statistical Society B 32 (1970) 115-122.
func SteadinessOf(x []float64) Steadiness {
	n := len(x)
	if n < FewestForSteadiness {
		return Steadiness{}
	}
	mean, ss := study.Moments(x)
	if ss == 0 {
		return Steadiness{}
	}
	s := Steadiness{N: n}
	k := float64(n)
	running, furthest := 0.0, 0.0
	for i := range n - 1 {
		step := x[i+1] - x[i]
		s.Ratio += step * step
		running += x[i] - mean
		if math.Abs(running) > math.Abs(furthest) {
			furthest, s.At = running, i+1
		}
	}
	s.Ratio /= ss
	s.RatioP = normalTail(-(1 - s.Ratio/2) / math.Sqrt((k-2)/(k*k-1)))
	s.Sum = math.Abs(furthest) / math.Sqrt(ss/(k-1)*k)
	s.SumP = kolmogorovTail(s.Sum)
	before := float64(s.At)
	s.Moving = min(1, max(0, 1-s.Ratio/2, furthest*furthest*k/(before*(k-before))/ss))
	return s
}

// P is the probability that a steady process looks no steadier: twice the smaller of the two (Bonferroni), at most 1.
func (s Steadiness) P() float64 { return min(1, 2*min(s.RatioP, s.SumP)) }

// How a series is.
const (
	Steady         Finding = "steady"
	Unsteady       Finding = "not steady"
	UntoldSteadily Finding = "too few values to tell whether it is steady"
)

// Judge says which.
func (s Steadiness) Judge() Finding {
	switch {
	case s.N == 0:
		return UntoldSteadily
	case s.P() < UnsteadyBelow:
		return Unsteady
	}
	return Steady
}

// kolmogorovTail is the probability that the largest distance of a Brownian bridge from 0 exceeds x.
func kolmogorovTail(x float64) float64 {
	if x < 0.2 { // the series would need many terms; the probability is 1 to the last digit
		return 1
	}
	p, sign := 0.0, 1.0
	for j := 1.0; j <= 100; j++ {
		term := math.Exp(-2 * j * j * x * x)
		p += sign * term
		sign = -sign
		if term < 1e-18 {
			break
		}
	}
	return min(1, max(0, 2*p))
}
