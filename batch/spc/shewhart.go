package spc

import (
	"fmt"
	"math"

	"sagitta/batch/study"
)

// Individuals is the chart of single values and their moving ranges: centre line the base's mean, sigma the mean moving
// range of the pairs wholly inside the base / d2(2), limits three sigma away. At least two values are needed unless center
// and sigma are given; with [Options.Prediction], limits as [Prediction] says. Source: ISO 7870-2:2013, 6.4; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
// Errors: [ValueError], [OptionError], too few values.
func Individuals(x []float64, o Options) (Chart, error) {
	c := newChart(IndividualsKind, 1, len(x))
	center, sigma, err := c.single(x, o)
	if err != nil {
		return Chart{}, err
	}
	c.Sigma = sigma
	c.line(x, center, sigma, sigma*c.half(o, c.singlePrice(o)), o.Tests)
	c.spreadLine(movingRanges(x), 2, rangeFactors(2))
	return c, nil
}

// single checks single values and gives the centre and the sigma of their chart.
func (c *Chart) single(x []float64, o Options) (center, sigma float64, err error) {
	if err := checkValues(x); err != nil {
		return 0, 0, err
	}
	if err := o.check(); err != nil {
		return 0, 0, err
	}
	if len(x) == 0 {
		return 0, 0, tooFew(0, "value", "at least 1, or 2 where sigma is not given")
	}
	from, to, err := o.Base.bounds(len(x))
	if err != nil {
		return 0, 0, err
	}
	base := x[from:to]
	if o.Sigma == nil && len(base) < 2 {
		return 0, 0, tooFew(len(base), "value", "at least 2 to estimate sigma from, or a sigma")
	}
	if o.Center == nil || o.Sigma == nil {
		c.Base = Base{from + 1, to}
	}
	center, sigma = o.estimate(func() float64 { return meanOf(base) }, func() float64 { return movingRangeSigma(base) })
	return center, sigma, nil
}

// singlePrice is the price of a base of single values.
func (c *Chart) singlePrice(o Options) price {
	n := c.Base.To - c.Base.From + 1
	return o.priceOf(n, 1, movingRangeVariance(n))
}

// movingRangeSigma is the mean moving range over d2 of two values.
func movingRangeSigma(x []float64) float64 { return meanOf(movingRanges(x)) / rangeFactors(2).mean }

// XbarR is the chart of subgroup means and ranges: centre line the base's grand mean, sigma the mean range / d2(n), limits of
// the means 3 sigma/sqrt(n) away. Subgroups hold two values or more, all equally many.
// Source: ISO 7870-2:2013, 6.2 and Table 2. Errors: as [Individuals], and a subgroup of another size.
func XbarR(groups [][]float64, o Options) (Chart, error) {
	return xbar(XbarRKind, groups, study.Range, rangeFactors, o)
}

// XbarS is the chart of subgroup means and standard deviations: as [XbarR], with sigma the mean standard deviation / c4(n).
// Source: ISO 7870-2:2013, 6.2 and Table 2.
func XbarS(groups [][]float64, o Options) (Chart, error) {
	return xbar(XbarSKind, groups, standardDeviation, deviationFactors, o)
}

func xbar(kind Kind, groups [][]float64, spreadOf func([]float64) float64, factorsOf func(int) factors, o Options) (Chart, error) {
	if err := checkGroups(groups); err != nil {
		return Chart{}, err
	}
	c := newChart(kind, len(groups[0]), len(groups))
	f := factorsOf(c.Size)
	spreads := make([]float64, len(groups))
	for i, g := range groups {
		spreads[i] = spreadOf(g)
	}
	means, center, err := c.grouped(groups, spreads, f, o)
	if err != nil {
		return Chart{}, err
	}
	sigma := c.Sigma / math.Sqrt(float64(c.Size))
	c.line(means, center, sigma, sigma*c.half(o, c.groupPrice(o, f)), o.Tests)
	c.spreadLine(spreads, 1, f)
	return c, nil
}

// grouped gives the subgroups' means and the centre line, and sets the sigma: the base's mean spread over its factor.
func (c *Chart) grouped(groups [][]float64, spreads []float64, f factors, o Options) (means []float64, center float64, err error) {
	if err := o.check(); err != nil {
		return nil, 0, err
	}
	from, to, err := o.Base.bounds(len(groups))
	if err != nil {
		return nil, 0, err
	}
	if o.Center == nil || o.Sigma == nil {
		c.Base = Base{from + 1, to}
	}
	means = make([]float64, len(groups))
	for i, g := range groups {
		means[i] = meanOf(g)
	}
	center, c.Sigma = o.estimate(func() float64 { return meanOf(means[from:to]) }, func() float64 { return meanOf(spreads[from:to]) / f.mean })
	return means, center, nil
}

// groupPrice is the price of a base of subgroups, whose spreads have the factors f.
func (c *Chart) groupPrice(o Options, f factors) price {
	n := c.Base.To - c.Base.From + 1
	return o.priceOf(n, c.Size, f.sd*f.sd/(f.mean*f.mean*float64(n)))
}

// GroupError is a subgroup that cannot be used.
type GroupError struct {
	Group   int    // from 1
	Problem string // what was found and what is allowed
}

// Error says it with the subgroup's place.
func (e GroupError) Error() string { return fmt.Sprintf("subgroup %d: %s", e.Group, e.Problem) }

// checkGroups refuses no subgroups, values that are no numbers, subgroups of one value and of unequal size.
func checkGroups(groups [][]float64) error {
	if len(groups) == 0 {
		return tooFew(0, "subgroup", "at least 1")
	}
	before := 0
	for i, g := range groups {
		if len(g) < 2 {
			return GroupError{i + 1, fmt.Sprintf("found %d of its values; needed: at least 2", len(g))}
		}
		if len(g) != len(groups[0]) {
			return GroupError{i + 1, fmt.Sprintf("found %d of its values; allowed: %d, as in the first subgroup: leave out an unfinished subgroup", len(g), len(groups[0]))}
		}
		if err := checkValues(g); err != nil {
			at := err.(ValueError)
			at.Index += before
			return at
		}
		before += len(g)
	}
	return nil
}
