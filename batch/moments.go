package batch

import "math"

// Moments are the number of values, their mean and the sum of squared deviations from it. The zero value is of no values.
type Moments struct {
	N    int
	Mean float64
	M2   float64 // sum of (value - mean)²
}

// MomentsOf turns sums about a reference value into moments: with s1 = Σ(x - ref) and s2 = Σ(x - ref)²,
//
//	mean = ref + s1/n,  M2 = s2 - s1²/n
//
// A ref among the values keeps s1²/n from cancelling s2's digits. Source: T. F. Chan, G. H. Golub, R. J. LeVeque, The
// American Statistician 37 (1983) 242-247 (shifted data).
func MomentsOf(n int, ref, s1, s2 float64) Moments {
	if n < 1 {
		return Moments{}
	}
	return Moments{N: n, Mean: ref + s1/float64(n), M2: max(s2-s1*s1/float64(n), 0)}
}

// Plus are the moments of both sets of values together: the pairwise update of the same source.
func (m Moments) Plus(o Moments) Moments {
	if m.N == 0 || o.N == 0 {
		return Moments{N: m.N + o.N, Mean: m.Mean + o.Mean, M2: m.M2 + o.M2}
	}
	a, b := float64(m.N), float64(o.N)
	d := o.Mean - m.Mean
	return Moments{N: m.N + o.N, Mean: m.Mean + d*b/(a+b), M2: m.M2 + o.M2 + d*d*a*b/(a+b)}
}

// Less are the moments without a part of the values.
func (m Moments) Less(part Moments) Moments {
	n := m.N - part.N
	if n < 1 {
		return Moments{}
	}
	mean := (float64(m.N)*m.Mean - float64(part.N)*part.Mean) / float64(n)
	d := part.Mean - mean
	return Moments{N: n, Mean: mean, M2: max(0, m.M2-part.M2-d*d*float64(part.N)*float64(n)/float64(m.N))}
}

// SD is the standard deviation with n - 1 in the denominator; ok is false below two values.
func (m Moments) SD() (sd float64, ok bool) {
	if m.N < 2 {
		return 0, false
	}
	return math.Sqrt(m.M2 / float64(m.N-1)), true
}
