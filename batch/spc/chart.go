package spc

import (
	"fmt"
	"math"
)

// Kind is the kind of a control chart.
type Kind string

// The kinds of chart.
const (
	IndividualsKind Kind = "imr"    // individuals and moving range
	XbarRKind       Kind = "xbar-r" // subgroup means and ranges
	XbarSKind       Kind = "xbar-s" // subgroup means and standard deviations
	PKind           Kind = "p"      // proportion of nonconforming items
	UKind           Kind = "u"      // nonconformities per unit
	EWMAKind        Kind = "ewma"   // exponentially weighted moving average
	CUSUMKind       Kind = "cusum"  // tabular cumulative sums
)

// Base is the period whose points the limits are computed from, counted from 1, both ends included; the limits then stand
// for all points. The zero Base is all points.
type Base struct{ From, To int }

// bounds are the base's points as a slice of n points.
func (b Base) bounds(n int) (from, to int, err error) {
	switch {
	case b == (Base{}):
		return 0, n, nil
	case b.From < 1 || b.To < b.From || b.To > n:
		return 0, 0, OptionError{"base", fmt.Sprintf("found %d:%d; allowed: from 1 to the %d there are, the first no larger than the last", b.From, b.To, n)}
	}
	return b.From - 1, b.To, nil
}

// Options are what the charts have in common. The zero value is limits from all points and all eight tests.
type Options struct {
	Base   Base
	Center *float64 // centre line (of EWMA and CUSUM the target) instead of the base's mean
	Sigma  *float64 // sigma of single values instead of the base's; not of a p or u chart
	Tests  Tests    // of the run tests, those to use; none set: all eight

	Gap int // of an EWMA of single values: how many lie before values that are left out, after which it starts anew; 0: none are

	Prediction *Prediction // limits with the price of the base; nil: three sigma, whatever the base. Not of a p or u chart, nor of a CUSUM
}

// check refuses center and sigma that are no numbers.
func (o Options) check() error {
	if o.Center != nil {
		if err := checkOption("center", *o.Center, false); err != nil {
			return err
		}
	}
	if o.Sigma != nil {
		if err := checkOption("sigma", *o.Sigma, true); err != nil {
			return err
		}
	}
	if o.Prediction != nil {
		_, err := o.Prediction.width()
		return err
	}
	return nil
}

// estimate fills in the centre and the sigma not given, from the base's own.
func (o Options) estimate(center, sigma func() float64) (c, s float64) {
	if o.Center != nil {
		c = *o.Center
	} else {
		c = center()
	}
	if o.Sigma != nil {
		s = *o.Sigma
	} else {
		s = sigma()
	}
	return c, s
}

// Chart is a control chart. Center, Lower, Upper and the spread's three are NaN where the kind has none or where they vary
// from point to point.
type Chart struct {
	Kind   Kind
	Size   int // values of a subgroup; 1 for single values, 0 where it varies
	Center float64
	Lower  float64
	Upper  float64
	Sigma  float64 // of single values; NaN for p and u
	Points []Point

	SpreadCenter float64 // of the moving ranges, the ranges or the standard deviations
	SpreadLower  float64
	SpreadUpper  float64
	Spread       []Point // moving ranges from the second value on, else one of each subgroup; test 1 alone is used

	Degrees float64 // of freedom that limits with the price of their base took for its sigma; 0: they carry no price, or sigma was given

	Interval float64 // of a CUSUM, what its sums are compared with: h sigma, in the values' unit; else 0

	Base Base // the points the limits came from; the zero Base where none was needed

	zone    float64 // sigma of a point, of which tests 5 to 8 have their zones; 0 where it varies
	beyond  float64 // chance of a point to lie beyond limits that carry the price of their base; 0: they do not
	average Average // of an EWMA
	between float64 // of an EWMA: values between two false signals with known mean and sigma; 0: not worked out
	tails   float64 // of a p or u chart: how many points lie beyond their limits by chance
}

// Point is one point of a chart.
type Point struct {
	Index   int     // from 1
	Value   float64 // what is plotted: the value, the subgroup's mean, the proportion, the average; of a CUSUM the value itself
	Lower   float64 // limits and centre line at this point; a CUSUM's limits are NaN
	Center  float64
	Upper   float64
	High    float64 // a CUSUM's upper and lower sum, both 0 or more; else 0
	Low     float64
	Signals Tests // the tests whose pattern ends here
}

// newChart is a chart whose limits are not known yet.
func newChart(kind Kind, size, points int) Chart {
	nan := math.NaN()
	return Chart{Kind: kind, Size: size, Center: nan, Lower: nan, Upper: nan, Sigma: nan, SpreadCenter: nan, SpreadLower: nan, SpreadUpper: nan,
		Points: make([]Point, points)}
}

// line fills the points with the same limits: center and half to either side, and tests them; sigma is that of a point.
func (c *Chart) line(values []float64, center, sigma, half float64, tests Tests) {
	c.Center, c.Lower, c.Upper = center, center-half, center+half
	for i, v := range values {
		c.Points[i] = Point{Index: i + 1, Value: v, Lower: c.Lower, Center: center, Upper: c.Upper}
	}
	c.zone = sigma
	runTests(c.Points, sigma, tests)
}

// half is how far the limits of a point lie from the centre line, in sigmas of the point.
func (c *Chart) half(o Options, p price) float64 {
	if o.Prediction == nil {
		return 3
	}
	width, _ := o.Prediction.width() // refused before, where it is none
	c.pays(width, p)
	return multiple(width, p.dof) * math.Sqrt(1+1/p.points)
}

// pays keeps the price that limits at a width carry.
func (c *Chart) pays(width float64, p price) {
	c.beyond = 2 * normalTail(-width)
	if !math.IsInf(p.dof, 1) {
		c.Degrees = p.dof
	}
}

// spreadLine fills the points of the spread's chart; first is the index of the first.
func (c *Chart) spreadLine(values []float64, first int, f factors) {
	c.SpreadCenter, c.SpreadLower, c.SpreadUpper = f.limits(c.Sigma)
	c.Spread = make([]Point, len(values))
	for i, v := range values {
		c.Spread[i] = Point{Index: first + i, Value: v, Lower: c.SpreadLower, Center: c.SpreadCenter, Upper: c.SpreadUpper}
	}
	runTests(c.Spread, math.NaN(), TestsOf(1))
}

// tooFew says how many are needed.
func tooFew(found int, noun, needed string) error {
	if found != 1 {
		noun += "s"
	}
	return fmt.Errorf("found %d %s; needed: %s", found, noun, needed)
}
