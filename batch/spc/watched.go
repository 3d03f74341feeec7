package spc

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Between is how many values of a steady process lie between two false signals of what is watched by default, at least.
const Between = 500

// AverageLambda is the weight of the newest value in the average that is watched.
const AverageLambda = 0.2

// Watching is how a series is watched. The zero value watches nothing.
type Watching struct {
	Tests   Tests   // 1: a value beyond its limits; the others are run tests with their own rates of false signals
	EWMA    bool    // the exponentially weighted moving average, beyond its limits
	Between float64 // values of a steady process between two false signals of test 1 and the EWMA together, at least; 0: [Between]
	Gap     int     // values before some that are left out, after which the average starts anew; 0: none are
	Roots   bool    // the values are widths from 0 on and are watched by their cube roots, which are about Normal
}

// Usual is what is watched by default, of one series.
var Usual = Watching{Tests: TestsOf(1), EWMA: true}

// each is the values between two false signals of test 1, and of the EWMA.
func (w Watching) each() float64 {
	if w.EWMA && w.Tests.Has(1) {
		return 2 * w.Between
	}
	return w.Between
}

// Watched is a series of single values with the charts that watch it, whose limits carry the price of their base.
type Watched struct {
	Values  Chart    // the values, their limits and the run tests; of cube roots without sigma
	Average Chart    // the EWMA; no points where it is not watched
	Signals []Signal // of both, by the point where they began
	Watching
}

// ErrTies is that more than half of a base's values are the same: how they spread is not known.
var ErrTies = errors.New("more than half of the values that limits would be computed from are the same")

// Watch watches single values with limits from a base. Test 1 and the EWMA share the rate of false signals equally, so that the two
// together give no more than it (Bonferroni); the limits of both are prediction limits ([Prediction]), and the width of the EWMA's is
// that of its run length ([WidthFor]). Source of the cube roots: E. B. Wilson and M. M. Hilferty, Proceedings of the National Academy
// of Sciences 17 (1931) 684-688. Errors: as [Individuals], [ErrTies].
func Watch(x []float64, base Base, w Watching) (Watched, error) {
	if w.Between == 0 {
		w.Between = Between
	}
	out := Watched{Watching: w}
	from, to, err := base.bounds(len(x))
	if err != nil {
		return out, err
	}
	if tied(x[from:to]) {
		return out, ErrTies
	}
	if w.Roots {
		x = changed(x, math.Cbrt)
	}
	o := Options{Base: base, Tests: w.Tests, Gap: w.Gap, Prediction: &Prediction{Width: -distuv.UnitNormal.Quantile(0.5 / w.each())}}
	if out.Values, err = Individuals(x, o); err != nil {
		return out, err
	}
	if w.Tests == 0 { // which the options take for all
		for i := range out.Values.Points {
			out.Values.Points[i].Signals = 0
		}
	}
	if w.EWMA {
		if out.Average, err = EWMA(x, Average{AverageLambda, WidthFor(AverageLambda, w.each())}, o); err != nil {
			return out, err
		}
		out.Average.between = w.each()
	}
	out.Signals = slices.SortedStableFunc(slices.Values(append(out.Values.Signals(), out.Average.Signals()...)), func(a, b Signal) int { return cmp.Compare(a.At, b.At) })
	if w.Roots {
		out.cube()
	}
	return out, nil
}

// Every is how many values of a steady process, after the base, lie between two signals that chance gives.
func (w Watched) Every() float64 {
	sum := 0.0
	for _, n := range w.Tests.Numbers() {
		sum += w.Values.ofTest(n).After
	}
	if w.EWMA {
		sum += w.Average.ofTest(1).After
	}
	return 1 / sum
}

// tied says whether more than half of the values are the same.
func tied(x []float64) bool {
	count := map[float64]int{}
	for _, v := range x {
		if count[v]++; 2*count[v] > len(x) && len(x) > 1 {
			return true
		}
	}
	return false
}

// changed is a copy of values.
func changed(x []float64, how func(float64) float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = how(v)
	}
	return out
}

// cube turns what was computed of roots back; a limit below 0 is 0.
func (w *Watched) cube() {
	cubed := func(v float64) float64 { return max(0, v) * max(0, v) * max(0, v) }
	for _, c := range []*Chart{&w.Values, &w.Average} {
		c.Center, c.Lower, c.Upper, c.Sigma = cubed(c.Center), cubed(c.Lower), cubed(c.Upper), math.NaN()
		c.Spread = nil
		for i := range c.Points {
			p := &c.Points[i]
			p.Value, p.Lower, p.Center, p.Upper = cubed(p.Value), cubed(p.Lower), cubed(p.Center), cubed(p.Upper)
		}
	}
	for i := range w.Signals {
		w.Signals[i].Furthest, w.Signals[i].Limit = cubed(w.Signals[i].Furthest), cubed(w.Signals[i].Limit)
	}
}
