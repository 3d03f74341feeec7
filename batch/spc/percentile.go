package spc

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"sagitta/batch/study"
)

// Distribution names a distribution of the percentile method.
type Distribution string

// The distributions of the percentile method.
const (
	LognormalDistribution Distribution = "lognormal"
	WeibullDistribution   Distribution = "weibull"
)

// Percentile is performance from a fitted distribution's own points instead of three sigma to either side.
type Percentile struct {
	Distribution Distribution `json:"distribution"`
	PP           *float64     `json:"pp"`  // (upper - lower)/(High - Low); nil with one limit
	PPK          *float64     `json:"ppk"` // smaller of (upper - Median)/(High - Median) and (Median - lower)/(Median - Low)

	Low    float64 `json:"-"` // the distribution's 0.135 %, 50 % and 99.865 % points
	Median float64 `json:"-"`
	High   float64 `json:"-"`
	P      float64 `json:"-"` // of the Anderson-Darling test of the fit; small: it does not fit
}

// outer is the share of values below the lowest point and above the highest. Source: ISO 22514-2:2017 (percentile method).
const outer = 0.00135

// candidate is a fitted distribution with its Anderson-Darling statistic.
type candidate struct {
	Percentile
	statistic float64
}

// percentile fits the chosen distribution, or both and takes the one with the smaller A^2 among those whose p is not significant: nil
// where none does, where there are fewer than eight values, where they are equal and where one is not above 0. With a
// distribution chosen, these are errors, and the fit stands whatever its p.
func percentile(x []float64, l Limits, chosen Distribution) (*Percentile, error) {
	fits := map[Distribution]func([]float64) (candidate, error){LognormalDistribution: lognormalCandidate, WeibullDistribution: weibullCandidate}
	if chosen != "" {
		fit, known := fits[chosen]
		if !known {
			return nil, OptionError{"distribution", fmt.Sprintf("found %q; allowed: lognormal or weibull", string(chosen))}
		}
		c, err := fit(x)
		if err != nil {
			return nil, err
		}
		c.PP, c.PPK = l.Indices(c.Low, c.Median, c.High)
		return &c.Percentile, nil
	}
	if len(x) < FewestForNormality {
		return nil, nil
	}
	var best *candidate
	for _, name := range []Distribution{LognormalDistribution, WeibullDistribution} {
		c, err := fits[name](x)
		if err != nil { // equal values or one not above 0: neither distribution can hold them
			return nil, nil
		}
		if !study.Significant(&c.P) && (best == nil || c.statistic < best.statistic) {
			best = &c
		}
	}
	if best == nil {
		return nil, nil
	}
	best.PP, best.PPK = l.Indices(best.Low, best.Median, best.High)
	return &best.Percentile, nil
}

func lognormalCandidate(x []float64) (candidate, error) {
	d, err := FitLognormal(x)
	if err != nil {
		return candidate{}, err
	}
	z := distuv.UnitNormal.Quantile(outer)
	c := candidate{Percentile: Percentile{Distribution: LognormalDistribution, Low: d.quantile(z), Median: d.quantile(0), High: d.quantile(-z)}}
	c.statistic = andersonDarling(sorted(x), d.logs)
	n := float64(len(x))
	c.P = normalityP(c.statistic * (1 + 0.75/n + 2.25/(n*n)))
	return c, nil
}

func weibullCandidate(x []float64) (candidate, error) {
	d, err := FitWeibull(x)
	if err != nil {
		return candidate{}, err
	}
	c := candidate{Percentile: Percentile{Distribution: WeibullDistribution,
		Low: d.Scale * math.Pow(-math.Log1p(-outer), 1/d.Shape), Median: d.quantile(0.5), High: d.quantile(outer)}}
	c.statistic = andersonDarling(sorted(x), d.logs)
	c.P = weibullP(c.statistic, len(x))
	return c, nil
}

func sorted(x []float64) []float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return s
}
