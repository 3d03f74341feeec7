// Package alarm looks at what has just been recorded and raises what people should look at: a signal of a control chart, a
// yield below its plan, a gauge whose checks drift, verdict after verdict undecided.
package alarm

import (
	"fmt"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
)

// confidence of the interval that a yield is compared with its plan by.
const confidence = 0.95

// fewest is how many inspected necks a yield is judged from.
const fewest = 10

// undecidedRun is how many undecided verdicts in a row raise an alarm: common practice, no source.
const undecidedRun = 3

// watched are the characteristics whose charts raise alarms, and tests the run tests of ISO 7870-2 that do: a point
// outside, a shift, a trend. Every further chart or test would add false alarms; the batch's page shows them all.
var watched = []string{"relief", "twist"}

const tests = "1,2,3"

// yield compares a batch's first-pass yield with its plan: below it even at the upper end of its Wilson interval.
func yield(b batch.Batch, c batch.Counts) *batch.Alarm {
	plan := b.Spec.Spec.Plan
	if plan == nil || plan.FirstPassPercent == nil || c.Inspected < fewest {
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

// signal says whether a test fires at the newest of a characteristic's first measurements. Before the base is complete the
// limits are not frozen and nothing is raised.
func signal(b batch.Batch, about, title string, points []batch.SeriesPoint, base batch.ChartBase, seen int) (*batch.Alarm, error) {
	if len(points) <= base.Last {
		return nil, nil
	}
	x := make([]float64, len(points))
	for i, p := range points {
		x[i] = *p.Value
	}
	chosen, err := spc.ParseTests(tests)
	if err != nil {
		return nil, err
	}
	chart, err := spc.Individuals(x, spc.Options{Base: spc.Base{From: base.First, To: base.Last}, Tests: chosen})
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
	s := signals[i]
	newest := points[len(points)-1]
	return &batch.Alarm{
		Kind: batch.SignalAlarm, Subject: fmt.Sprintf("signal/%s/%s/%d", b.ID, about, s.Test), BatchID: b.ID, About: about, Serial: newest.Serial, Seen: seen,
		Words:  fmt.Sprintf("%s of %s gives a signal at neck %s: test %d.", title, b.Number, newest.Serial, s.Test),
		LookAt: fmt.Sprintf("%s Numbers are in %s.", s.Words, newest.Unit),
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
	rising, falling := steps(checks)
	if rising >= trend || falling >= trend {
		a.Words = fmt.Sprintf("The %s moves: its last %d checks on the master went %s each time.", g.Name, max(rising, falling)+1, map[bool]string{true: "up", false: "down"}[rising >= trend])
		return &a
	}
	return nil
}

// mostOfLimit is the share of the limit that a good check may use without a word: common practice, no source.
const mostOfLimit = 0.75

// trend is how many steps in a row the same way raise an alarm: six points steadily rising or falling (ISO 7870-2, test 3).
const trend = 5

// steps counts how many of the newest checks rose, or fell, one after the other, on their worst master, without one on the
// zero.
func steps(checks []batch.GaugeCheck) (rising, falling int) {
	value := func(c batch.GaugeCheck) float64 {
		if m := c.WorstMaster(); m != nil {
			return m.ErrorMM()
		}
		return c.ZeroMM
	}
	for i := len(checks) - 1; i > 0; i-- {
		now, before := value(checks[i]), value(checks[i-1])
		up, down := now > before && falling == 0, now < before && rising == 0
		switch {
		case up:
			rising++
		case down:
			falling++
		default:
			return rising, falling
		}
	}
	return rising, falling
}
