package spc

import (
	"cmp"
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
}

// Usual is what is watched by default, of one series.
var Usual = Watching{Tests: TestsOf(1), EWMA: true}

// Watched is a series of single values with the charts that watch it, whose limits carry the price of their base.
type Watched struct {
	Values  Chart // the values, their limits and the run tests
	Average Chart // the EWMA; no points where it is not watched
	Watching
}

// Watch watches single values with limits from a base. Test 1 and the EWMA share the rate of false signals equally, so that the two
// together give no more than it (Bonferroni); the limits of both are prediction limits ([Prediction]), and the width of the EWMA's is
// that of its run length ([WidthFor]). Errors: as [Individuals].
func Watch(x []float64, base Base, w Watching) (Watched, error) {
	if w.Between == 0 {
		w.Between = Between
	}
	each := w.each()
	out := Watched{Watching: w}
	var err error
	if out.Values, err = Individuals(x, Options{Base: base, Tests: w.Tests, Prediction: &Prediction{Width: -distuv.UnitNormal.Quantile(0.5 / each)}}); err != nil {
		return out, err
	}
	if w.Tests == 0 { // which [Options] takes for all
		for i := range out.Values.Points {
			out.Values.Points[i].Signals = 0
		}
	}
	if w.EWMA {
		out.Average, err = EWMA(x, Average{AverageLambda, WidthFor(AverageLambda, each)}, Options{Base: base, Prediction: &Prediction{}})
	}
	return out, err
}

// each is the values between two false signals of test 1, and of the EWMA.
func (w Watching) each() float64 {
	if w.EWMA && w.Tests.Has(1) {
		return 2 * w.Between
	}
	return w.Between
}

// Signals are those of both charts, by the point where they began.
func (w Watched) Signals() []Signal {
	return slices.SortedStableFunc(slices.Values(append(w.Values.Signals(), w.Average.Signals()...)), func(a, b Signal) int { return cmp.Compare(a.At, b.At) })
}
