// Package alarm looks at what has just been recorded and raises what people should look at: a signal of a control chart, a
// yield below its plan, a gauge whose checks drift, verdict after verdict undecided.
package alarm

import (
	"fmt"
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

// yield compares a batch's first-pass yield with its plan: below it even at the upper end of its Wilson interval.
func yield(b batch.Batch, least int, c batch.Counts) *batch.Alarm {
	plan := b.Spec.Spec.Plan
	if plan == nil || plan.FirstPassPercent == nil || c.Inspected < least {
		return nil
	}
	lo, hi := batch.Wilson(c.FirstPass, c.Inspected, confidence)
	if 100*hi >= *plan.FirstPassPercent {
		return nil
	}
	return &batch.Alarm{
		Kind: batch.YieldAlarm, Subject: "yield/" + b.ID, BatchID: b.ID, Seen: c.Inspected,
		Words: fmt.Sprintf("The first-pass yield of %s was %.1f %% after %d necks (95 %% interval %.1f to %.1f), the plan is %g %%.",
			b.Number, 100*float64(c.FirstPass)/float64(c.Inspected), c.Inspected, 100*lo, 100*hi, *plan.FirstPassPercent),
		LookAt: "The reasons on the batch's page say what fails first.",
	}
}

// signal says whether one of the tests fires at the newest of a characteristic's first measurements. Before the base is
// complete the limits are not frozen and nothing is raised.
func signal(b batch.Batch, tests spc.Tests, about, title string, points []batch.SeriesPoint, base batch.ChartBase, seen int) (*batch.Alarm, error) {
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
	newest := points[len(points)-1]
	signals := chart.Signals()
	i := slices.IndexFunc(signals, func(s spc.Signal) bool { return s.To == last.Index })
	if i < 0 {
		return nil, nil
	}
	s := signals[i]
	return &batch.Alarm{
		Kind: batch.SignalAlarm, Subject: fmt.Sprintf("signal/%s/%s/%d", b.ID, about, s.Test), BatchID: b.ID, About: about, Serial: newest.Serial, Seen: seen,
		Words:  fmt.Sprintf("%s of %s gives a signal at neck %s: test %d.", title, b.Number, newest.Serial, s.Test),
		LookAt: fmt.Sprintf("%s Numbers are in %s.", tell.Signal(s, tell.Scale{Of: newest.Unit}), newest.Unit),
	}, nil
}

// undecided says that the newest verdicts of a batch are all undecided.
func undecided(b batch.Batch, run, seen int, serial string) *batch.Alarm {
	if run < undecidedRun {
		return nil
	}
	return &batch.Alarm{
		Kind: batch.UndecidedAlarm, Subject: "undecided/" + b.ID, BatchID: b.ID, Serial: serial, Seen: seen,
		Words:  fmt.Sprintf("%d verdicts in a row of %s are undecided.", run, b.Number),
		LookAt: "A value near a limit, a gauge too coarse for it, or a point that cannot be measured: the necks' pages say which.",
	}
}

// drift says that a gauge's good checks move steadily, or that the newest used most of what is allowed. Oldest check first.
func drift(g batch.Gauge, checks []batch.GaugeCheck) *batch.Alarm {
	if len(checks) == 0 {
		return nil
	}
	newest := checks[len(checks)-1]
	if !newest.Good {
		return nil // it is locked out, which says more
	}
	a := batch.Alarm{Kind: batch.DriftAlarm, Subject: "drift/" + g.ID, GaugeID: g.ID, Seen: len(checks), LookAt: "The drift chart on the gauge's page; then its tip, its stand and the reference."}
	if m := newest.WorstMaster(); m != nil && m.LimitMM > 0 && math.Abs(m.ErrorMM()) > mostOfLimit*m.LimitMM {
		a.Words = fmt.Sprintf("The %s read the %g mm master %+.3f mm off, most of the %.3f mm allowed.", g.Name, m.NominalMM, m.ErrorMM(), m.LimitMM)
		return &a
	}
	if len(newest.Masters) == 0 {
		n, up := run(checks, func(c batch.GaugeCheck) (float64, bool) { return c.ZeroMM, true }, func(c batch.GaugeCheck) bool { return batch.ZeroLost(c.After) })
		if n > trend {
			a.Words = fmt.Sprintf("The %s moves: its last %d zeros went %s each time.", g.Name, n, way(up))
			return &a
		}
	}
	for _, m := range newest.Masters {
		n, up := run(checks, func(c batch.GaugeCheck) (float64, bool) { return errorOn(c, m.NominalMM) }, func(c batch.GaugeCheck) bool { return c.After == batch.CheckEntry })
		if n > trend {
			a.Words = fmt.Sprintf("The %s moves: its last %d checks on the %g mm master went %s each time.", g.Name, n, m.NominalMM, way(up))
			return &a
		}
	}
	return nil
}

// mostOfLimit is the share of the limit that a good check may use without a word: common practice, no source.
const mostOfLimit = 0.75

// trend is how many steps in a row the same way raise an alarm: six points steadily rising or falling (ISO 7870-2, test 3).
const trend = 5

func way(up bool) string {
	if up {
		return "up"
	}
	return "down"
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
