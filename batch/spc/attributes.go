package spc

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// P is the chart of the proportion of nonconforming items, counts[i] of sizes[i] items: centre line the ratio of the base's
// totals p, limits p ± 3 sqrt(p (1-p)/n) with each point's own size n, the lower not below 0. Run tests 5 to 8 are used only
// where all sizes are equal. Source: ISO 7870-2:2013, 7; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.2.
// Errors: [ValueError] (a count that is not a whole number between 0 and its size, a size that is not a whole number above 0), [OptionError], no values.
func P(counts, sizes []float64, o Options) (Chart, error) {
	return ratio(PKind, counts, sizes, o, func(p, n float64) float64 { return math.Sqrt(p * (1 - p) / n) })
}

// U is the chart of nonconformities per unit, counts[i] on sizes[i] units: centre line the ratio of the base's totals u,
// limits u ± 3 sqrt(u/n), otherwise as [P];
// a size need not be whole. Source: ISO 7870-2:2013, 7; NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1.
func U(counts, sizes []float64, o Options) (Chart, error) {
	return ratio(UKind, counts, sizes, o, func(u, n float64) float64 { return math.Sqrt(u / n) })
}

func ratio(kind Kind, counts, sizes []float64, o Options, sigmaOf func(center, n float64) float64) (Chart, error) {
	if err := checkRatio(kind, counts, sizes, o); err != nil {
		return Chart{}, err
	}
	from, to, err := o.Base.bounds(len(counts))
	if err != nil {
		return Chart{}, err
	}
	c := newChart(kind, 0, len(counts))
	if o.Center != nil {
		c.Center = *o.Center
	} else {
		c.Base = Base{from + 1, to}
		c.Center = sum(counts[from:to]) / sum(sizes[from:to])
	}
	constant := true
	for i, n := range sizes {
		three := 3 * sigmaOf(c.Center, n)
		c.Points[i] = Point{Index: i + 1, Value: counts[i] / n, Lower: max(0, c.Center-three), Center: c.Center, Upper: c.Center + three}
		constant = constant && n == sizes[0]
	}
	zone := math.NaN()
	if constant {
		c.Lower, c.Upper, zone = c.Points[0].Lower, c.Points[0].Upper, sigmaOf(c.Center, sizes[0])
		c.zone = zone
	}
	runTests(c.Points, zone, o.Tests)
	for i, p := range c.Points {
		c.tails += kind.beyond(p, sizes[i])
	}
	return c, nil
}

// beyond is the chance of a count to lie beyond the limits of its point where the centre line is the true share (binomial) or rate
// (Poisson).
func (k Kind) beyond(p Point, n float64) float64 {
	most, least := math.Floor(p.Upper*n), math.Ceil(p.Lower*n) // that lie within
	if p.Center <= 0 || k == PKind && p.Center >= 1 {
		return 0
	}
	above, below := 0.0, 0.0
	switch {
	case k == UKind:
		above = mathext.GammaIncReg(most+1, p.Center*n)
		if least > 0 {
			below = mathext.GammaIncRegComp(least, p.Center*n)
		}
		return above + below
	case most < n:
		above = mathext.RegIncBeta(most+1, n-most, p.Center)
	}
	if least > 0 {
		below = mathext.RegIncBeta(n-least+1, least, 1-p.Center)
	}
	return above + below
}

func checkRatio(kind Kind, counts, sizes []float64, o Options) error {
	if err := o.check(); err != nil {
		return err
	}
	switch {
	case o.Sigma != nil:
		return OptionError{"sigma", "is not used by a p or u chart: its limits follow from the centre line and the sizes"}
	case o.Prediction != nil:
		return OptionError{"limits", "prediction is not used by a p or u chart: its limits follow from the centre line and the sizes"}
	case o.Center != nil && (*o.Center < 0 || kind == PKind && *o.Center > 1):
		return OptionError{"center", fmt.Sprintf("found %v; allowed: 0 or more, and for p no more than 1", *o.Center)}
	case len(counts) != len(sizes):
		return fmt.Errorf("found %d counts and %d sizes; allowed: as many of one as of the other", len(counts), len(sizes))
	case len(counts) == 0:
		return tooFew(0, "count", "at least 1")
	}
	for i, n := range sizes {
		switch count := counts[i]; {
		case !(n > 0 && n <= largest):
			return ValueError{i + 1, "size", fmt.Sprintf("found %v; allowed: a finite number above 0", n)}
		case !(count >= 0 && count <= largest):
			return ValueError{i + 1, "count", fmt.Sprintf("found %v; allowed: a finite number, 0 or more", count)}
		case count != math.Trunc(count):
			return ValueError{i + 1, "count", fmt.Sprintf("found %v; allowed: a whole number, 0 or more", count)}
		case kind == PKind && n != math.Trunc(n):
			return ValueError{i + 1, "size", fmt.Sprintf("found %v items; allowed: a whole number above 0", n)}
		case kind == PKind && count > n:
			return ValueError{i + 1, "count", fmt.Sprintf("found %v of %v items; allowed: no more than the items", count, n)}
		}
	}
	return nil
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}
