// Package alarm looks at what has just been recorded and raises what people should look at: a signal of a control chart, a
// yield below its plan, a gauge whose checks drift, verdict after verdict undecided. Rules find and count; batch/tell words.
package alarm

import (
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
)

// confidence of the interval that a yield is compared with its plan by.
const confidence = 0.95

// undecidedRun is how many undecided verdicts in a row raise an alarm: common practice, no source.
const undecidedRun = 3

// mostOfLimit is the share of the limit that a passed check may use without a word: common practice, no source.
const mostOfLimit = 0.75

// trend is how many steps in a row the same way raise an alarm: six points steadily rising or falling (ISO 7870-2, test 3).
const trend = 5

// yield compares a batch's first-pass yield with its plan: below it even at the upper end of its Wilson interval. Nil where it is
// not, or fewer than the least number of necks were inspected.
func yield(plan *float64, least int, c batch.Counts) *tell.Shortfall {
	if plan == nil || c.Inspected < least {
		return nil
	}
	lo, hi := batch.Wilson(c.FirstPass, c.Inspected, confidence)
	if 100*hi >= *plan {
		return nil
	}
	return &tell.Shortfall{FirstPass: c.FirstPass, Inspected: c.Inspected, Low: lo, High: hi, PlanPercent: *plan}
}

// signal is the test that fires at the newest of a characteristic's first measurements, nil where none does. Before the base is
// complete the limits are not frozen and nothing is found.
func signal(tests spc.Tests, points []batch.SeriesPoint, base batch.ChartBase) (*spc.Signal, error) {
	if len(points) <= base.Last {
		return nil, nil
	}
	x := make([]float64, len(points))
	for i, p := range points {
		x[i] = *p.Value
	}
	chart, err := spc.Individuals(x, spc.Options{Base: spc.Base{From: base.First, To: base.Last}, Tests: tests})
	if err != nil {
		return nil, err
	}
	last := chart.Points[len(chart.Points)-1]
	if last.Signals == 0 {
		return nil, nil
	}
	signals := chart.Signals()
	i := slices.IndexFunc(signals, func(s spc.Signal) bool { return s.To == last.Index })
	if i < 0 {
		return nil, nil
	}
	return &signals[i], nil
}

// drift says that a gauge's passed checks move steadily, or that the newest used most of what is allowed; nil where neither is so.
// Oldest check first.
func drift(checks []batch.GaugeCheck) *tell.Drift {
	if len(checks) == 0 {
		return nil
	}
	newest := checks[len(checks)-1]
	if !newest.Good {
		return nil // it is locked out, which says more
	}
	if m := newest.WorstMaster(); m != nil && m.LimitMM > 0 && math.Abs(m.ErrorMM()) > mostOfLimit*m.LimitMM {
		return &tell.Drift{Master: m}
	}
	if len(newest.Masters) == 0 {
		n, up := run(checks, func(c batch.GaugeCheck) (float64, bool) { return c.ZeroMM, true }, func(c batch.GaugeCheck) bool { return !c.ZeroJudged || c.After == batch.CheckEntry })
		if n > trend {
			return &tell.Drift{Checks: n, Up: up}
		}
	}
	for _, m := range newest.Masters {
		n, up := run(checks, func(c batch.GaugeCheck) (float64, bool) { return errorOn(c, m.NominalMM) }, func(c batch.GaugeCheck) bool { return c.After == batch.CheckEntry })
		if n > trend {
			return &tell.Drift{Master: &m, Checks: n, Up: up}
		}
	}
	return nil
}

// errorOn is what a check found on the master of a nominal size, mm; false where it did not read it.
func errorOn(c batch.GaugeCheck, nominalMM float64) (errorMM float64, read bool) {
	for _, m := range c.Masters {
		if m.NominalMM == nominalMM {
			return m.ErrorMM(), true
		}
	}
	return 0, false
}

// run counts the newest checks whose value rose, or fell, from one to the next, the first included. It does not reach over
// a check without the value, over one that failed, for something was done to the gauge after it, nor behind one at which the
// value began anew.
func run(checks []batch.GaugeCheck, value func(batch.GaugeCheck) (mm float64, has bool), anew func(batch.GaugeCheck) bool) (n int, up bool) {
	var next float64 // value of the check after
	for i := len(checks) - 1; i >= 0; i-- {
		v, has := value(checks[i])
		if !has || !checks[i].Good || n > 0 && (v == next || anew(checks[i+1])) || n > 1 && up != (next > v) {
			break
		}
		n, up, next = n+1, next > v, v
	}
	return n, up
}
