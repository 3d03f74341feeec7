package spc

import (
	"math"
	"slices"

	"sagitta/batch/study"
)

// Summary describes a series of values, in their unit.
type Summary struct {
	N               int      `json:"n"`
	Mean            float64  `json:"mean"`
	SD              *float64 `json:"sd"` // standard deviation, divisor n - 1; nil below two values
	Median          float64  `json:"median"`
	Min             float64  `json:"min"`
	Max             float64  `json:"max"`
	Autocorrelation *float64 `json:"autocorrelation"` // at lag 1: sum d[i] d[i+1] / sum d[i]^2, d the deviations from the mean; nil for equal values
}

// Summarize describes at least one value, given in the order they were taken. Definitions: NIST/SEMATECH e-Handbook of
// Statistical Methods, 1.3.5.1, 1.3.5.6 and 1.3.5.12. Errors: [ValueError], no values.
func Summarize(x []float64) (Summary, error) {
	if err := checkValues(x); err != nil {
		return Summary{}, err
	}
	if len(x) == 0 {
		return Summary{}, tooFew(0, "value", "at least 1")
	}
	mean, ss := study.Moments(x)
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	n := len(x)
	s := Summary{N: n, Mean: mean, SD: study.Defined(standardDeviation(x)), Min: sorted[0], Max: sorted[n-1], Median: sorted[n/2]}
	if n%2 == 0 {
		s.Median = sorted[n/2-1]/2 + sorted[n/2]/2
	}
	product := 0.0
	for i := range x[1:] {
		product += (x[i] - mean) * (x[i+1] - mean)
	}
	s.Autocorrelation = study.Defined(product / ss)
	return s, nil
}

// FewestForChance is the number of values below which an autocorrelation is not compared with chance: the bound holds for long
// series; common practice, no source.
const FewestForChance = 8

// How neighbours of a series are to each other.
const (
	AllEqual      Finding = "all values equal"
	FewNeighbours Finding = "too few values"
	Alike         Finding = "neighbours alike"
	Opposite      Finding = "neighbours on opposite sides"
	Independent   Finding = "neighbours no more alike than by chance"
)

// ChanceBound is how far from 0 the autocorrelation of independent values lies in 5 of 100 series: 2/sqrt(n).
// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12.
func (s Summary) ChanceBound() float64 { return 2 / math.Sqrt(float64(s.N)) }

// Neighbours compares the autocorrelation with chance.
func (s Summary) Neighbours() Finding {
	switch {
	case s.Autocorrelation == nil:
		return AllEqual
	case s.N < FewestForChance:
		return FewNeighbours
	case *s.Autocorrelation > s.ChanceBound():
		return Alike
	case *s.Autocorrelation < -s.ChanceBound():
		return Opposite
	}
	return Independent
}

// Normality is the Anderson-Darling test of whether values come from a Normal distribution whose mean and sigma are not known.
type Normality struct {
	Statistic float64 `json:"statistic"` // A^2
	P         float64 `json:"p"`         // probability of so large an A^2 from Normal values; small: they are not Normal
}

// FewestForNormality is the number of values from which the p holds.
const FewestForNormality = 8

// AndersonDarling tests at least eight values that are not all equal:
//
//	A^2 = -n - (1/n) sum (2i - 1) (ln F(y[i]) + ln (1 - F(y[n+1-i])))
//
// y the sorted (x - mean)/s, F the Normal distribution function, s with divisor n - 1; p from A^2 (1 + 0.75/n + 2.25/n^2).
// Source: R. B. D'Agostino and M. A. Stephens, Goodness-of-Fit Techniques (1986), Table 4.9. Errors: [ValueError], too few
// values, equal values.
func AndersonDarling(x []float64) (Normality, error) {
	if err := checkValues(x); err != nil {
		return Normality{}, err
	}
	if len(x) < FewestForNormality {
		return Normality{}, tooFew(len(x), "value", "at least 8")
	}
	mean, s := meanOf(x), standardDeviation(x)
	if s == 0 {
		return Normality{}, errEqual
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	n := float64(len(x))
	a := andersonDarling(sorted, func(v float64) (below, above float64) {
		z := (v - mean) / s
		return logNormalTail(z), logNormalTail(-z)
	})
	return Normality{a, normalityP(a * (1 + 0.75/n + 2.25/(n*n)))}, nil
}

// andersonDarling is A^2 of sorted values against a distribution given by the logarithms of the probabilities below and above.
func andersonDarling(sorted []float64, logs func(float64) (below, above float64)) float64 {
	n := len(sorted)
	sum := 0.0
	for i, v := range sorted { // each value counts 2i+1 times as one above below it, and 2(n-i)-1 times the other way
		below, above := logs(v)
		sum += float64(2*i+1)*below + float64(2*(n-i)-1)*above
	}
	return -float64(n) - sum/float64(n)
}

// normalityP is the p of an adjusted A^2. Above 10 the first formula no longer falls as it should and its value at 10, below
// 1e-23, stands. Source: D'Agostino and Stephens (1986), Table 4.9.
func normalityP(a float64) float64 {
	switch {
	case a >= 0.6:
		a = min(a, 10)
		return math.Exp(1.2937 - 5.709*a + 0.0186*a*a)
	case a > 0.34:
		return math.Exp(0.9177 - 4.279*a - 1.38*a*a)
	case a > 0.2:
		return 1 - math.Exp(-8.318+42.796*a-59.938*a*a)
	}
	return 1 - math.Exp(-13.436+101.14*a-223.73*a*a)
}

// logNormalTail is ln F(z) of the standard Normal distribution, also where F underflows: there by the first terms of its
// asymptotic series (M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 26.2.12).
func logNormalTail(z float64) float64 {
	if z > -30 {
		return math.Log(normalTail(z))
	}
	r := 1 / (z * z)
	return -z*z/2 - math.Log(-z*math.Sqrt(2*math.Pi)) + math.Log1p(-r+3*r*r-15*r*r*r)
}

// normalTail is F(z) of the standard Normal distribution, exact in the far lower tail too.
func normalTail(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }
