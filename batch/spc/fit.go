package spc

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"sagitta/batch/study"
)

var errEqual = errors.New("all values are equal; needed: at least two that differ")

// Lognormal is the distribution of values whose logarithms are Normal with mean Mu and standard deviation Sigma.
type Lognormal struct{ Mu, Sigma float64 }

// Weibull is the distribution with P(X <= x) = 1 - exp(-(x/Scale)^Shape), Scale in the values' unit.
type Weibull struct{ Shape, Scale float64 }

// FitLognormal fits by maximum likelihood: mean and standard deviation (divisor n) of the logarithms. Values must be above 0
// and not all equal, at least two. Errors: [ValueError], too few values, equal values.
func FitLognormal(x []float64) (Lognormal, error) {
	logs, err := logarithms(x)
	if err != nil {
		return Lognormal{}, err
	}
	mean, ss := study.Moments(logs)
	return Lognormal{mean, math.Sqrt(ss / float64(len(x)))}, nil
}

// FitWeibull fits by maximum likelihood: the shape k solves
//
//	sum x^k ln x / sum x^k - 1/k - mean ln x = 0
//
// and the scale is (mean x^k)^(1/k). Values as for [FitLognormal]. Source: A. C. Cohen, Technometrics 7 (1965) 579-588.
func FitWeibull(x []float64) (Weibull, error) {
	y, err := logarithms(x)
	if err != nil {
		return Weibull{}, err
	}
	mean, ss := study.Moments(y)
	top := slices.Max(y)
	n := float64(len(y))
	// weights x^k are taken relative to the largest value; the left side rises with k from below 0 to above
	moments := func(k float64) (w, first, second float64) {
		for _, v := range y {
			e := math.Exp(k * (v - top))
			w += e
			first += e * (v - mean)
			second += e * (v - mean) * (v - mean)
		}
		return w, first / w, second / w
	}
	low, high := 0.0, math.Inf(1)
	k := math.Pi / math.Sqrt(6*ss/n) // the standard deviation of ln x is pi/(sqrt 6 shape)
	for range 200 {
		_, first, second := moments(k)
		g := first - 1/k
		if g > 0 {
			high = k
		} else {
			low = k
		}
		next := k - g/(second-first*first+1/(k*k))
		if !(next > low && next < high) { // Newton's step left the bracket
			next = 2 * k
			if !math.IsInf(high, 1) {
				next = (low + high) / 2
			}
		}
		done := math.Abs(next-k) <= 1e-14*k
		k = next
		if done {
			break
		}
	}
	w, _, _ := moments(k)
	return Weibull{Shape: k, Scale: math.Exp(top + math.Log(w/n)/k)}, nil
}

// logarithms of values above 0 that differ.
func logarithms(x []float64) ([]float64, error) {
	if err := checkValues(x); err != nil {
		return nil, err
	}
	if len(x) < 2 {
		return nil, tooFew(len(x), "value", "at least 2")
	}
	logs := make([]float64, len(x))
	for i, v := range x {
		if v <= 0 {
			return nil, ValueError{i + 1, "value", fmt.Sprintf("found %v; allowed: above 0 for a lognormal or Weibull distribution", v)}
		}
		logs[i] = math.Log(v)
	}
	if study.Range(logs) == 0 {
		return nil, errEqual
	}
	return logs, nil
}

// quantile is the value below which a share of the values lies; z is the standard Normal quantile of the share.
func (d Lognormal) quantile(z float64) float64 { return math.Exp(d.Mu + d.Sigma*z) }

// quantile is the value that all but a share above of the values lie below.
func (d Weibull) quantile(above float64) float64 {
	return d.Scale * math.Pow(-math.Log(above), 1/d.Shape)
}

// logs are the logarithms of the probabilities below and above v.
func (d Lognormal) logs(v float64) (below, above float64) {
	z := (math.Log(v) - d.Mu) / d.Sigma
	return logNormalTail(z), logNormalTail(-z)
}

func (d Weibull) logs(v float64) (below, above float64) {
	hazard := math.Exp(d.Shape * math.Log(v/d.Scale))
	return logOneMinusExp(hazard), -hazard
}

// logOneMinusExp is ln (1 - exp(-h)), h above 0, without losing digits at either end.
func logOneMinusExp(h float64) float64 {
	if h < math.Ln2 {
		return math.Log(-math.Expm1(-h))
	}
	return math.Log1p(-math.Exp(-h))
}

// weibullP is the p of an Anderson-Darling A^2 against a Weibull distribution fitted to n values, from A* = A^2 (1 + 0.2/sqrt n):
//
//	p = 1 / (1 + exp(-0.10 + 1.24 ln A* + 4.48 A*))
//
// Source: MIL-HDBK-17-1F (2002), 8.3.4.2.2, formula from memory; it gives the 5 % point 0.757 of R. B. D'Agostino and
// M. A. Stephens, Goodness-of-Fit Techniques (1986), Table 4.17.
func weibullP(a float64, n int) float64 {
	star := a * (1 + 0.2/math.Sqrt(float64(n)))
	return 1 / (1 + math.Exp(-0.10+1.24*math.Log(star)+4.48*star))
}
