package study

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// fTail is the probability that an F variable with d1 and d2 degrees of freedom exceeds f; NaN where f is none. It is
// computed as the tail itself, I(d2/(d2 + d1 f); d2/2, d1/2), so that small probabilities keep their digits.
// Source: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), 26.6.2.
func fTail(f, d1, d2 float64) float64 {
	if math.IsNaN(f) || math.IsInf(f, 0) || f < 0 || d1 <= 0 || d2 <= 0 {
		return math.NaN()
	}
	return mathext.RegIncBeta(d2/2, d1/2, d2/(d2+d1*f))
}

// tTails is the two-sided p of Student's t with df degrees of freedom; NaN where t is none. t squared is F with 1 and df.
func tTails(t, df float64) float64 { return fTail(t*t, 1, df) }

// tQuantile is the point that Student's t with df degrees of freedom exceeds, either way, with probability 1 - confidence.
func tQuantile(confidence, df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile((1 + confidence) / 2)
}
