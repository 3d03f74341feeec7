package spc

import (
	"fmt"
	"slices"

	"sagitta/batch/study"
)

// Distribution names a distribution.
type Distribution string

// The distributions. The percentile method of [Capability] takes one of the last two.
const (
	NormalDistribution    Distribution = "normal"
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

// percentile fits the chosen distribution, or both and takes the one with the smaller A^2 among those whose p is not significant: nil
// where none does, where there are fewer than eight values, where they are equal and where one is not above 0. With a
// distribution chosen, these are errors, and the fit stands whatever its p.
func percentile(x []float64, l Limits, chosen Distribution) (*Percentile, error) {
	switch chosen {
	case LognormalDistribution, WeibullDistribution:
		f, err := positive[chosen](x)
		if err != nil {
			return nil, err
		}
		return f.percentile(l), nil
	case "":
	default:
		return nil, OptionError{"distribution", fmt.Sprintf("found %q; allowed: lognormal or weibull", string(chosen))}
	}
	if len(x) < FewestForNormality {
		return nil, nil
	}
	best := bestOf(positiveFits(x))
	if best == nil {
		return nil, nil
	}
	return best.percentile(l), nil
}

// positive are the distributions of values above 0.
var positive = map[Distribution]func([]float64) (fitted, error){LognormalDistribution: fitLognormal, WeibullDistribution: fitWeibull}

// positiveFits fits both, none where the values are equal or one is not above 0.
func positiveFits(x []float64) []fitted {
	var all []fitted
	for _, name := range []Distribution{LognormalDistribution, WeibullDistribution} {
		f, err := positive[name](x)
		if err != nil {
			return nil
		}
		all = append(all, f)
	}
	return all
}

// bestOf is the one with the smallest A^2 among those whose p is not significant, nil for none.
func bestOf(all []fitted) *fitted {
	var best *fitted
	for i := range all {
		if f := &all[i]; !study.Significant(&f.p) && (best == nil || f.statistic < best.statistic) {
			best = f
		}
	}
	return best
}

func sorted(x []float64) []float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	return s
}
