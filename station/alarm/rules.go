// Package alarm looks at what has just been recorded and raises what people should look at: a signal of a control chart, a
// yield below its plan, a gauge whose checks drift, verdict after verdict undecided. Rules find and count; batch/tell words.
package alarm

import (
	"math"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// undecidedRun is how many undecided verdicts in a row raise an alarm: common practice, no source.
const undecidedRun = 3

// mostOfLimit is the share of the limit that a passed check may use without a word: common practice, no source.
const mostOfLimit = 0.75

// trend is how many steps in a row the same way raise an alarm: six points steadily rising or falling (ISO 7870-2, test 3).
const trend = 5

// shortfalls compares a batch with its plan: its first-pass yield, and how many necks failed first by each characteristic that the plan
// names. All comparisons of a batch together have the chance [spc.Alpha] of a false alarm, over the whole batch and however often it is
// looked at, so each has an equal part of it. Nothing is found before the least number of necks was inspected.
func shortfalls(plan *inspect.Plan, least int, c batch.Counts) (found []tell.Shortfall) {
	if plan == nil || c.Inspected < least {
		return nil
	}
	parts := len(plan.Reasons)
	if plan.FirstPassPercent != nil {
		parts++
	}
	short := func(passed int, percent float64, reason string) {
		if spc.BelowPlan(passed, c.Inspected-passed, percent/100, spc.Alpha/float64(parts)) {
			found = append(found, tell.Shortfall{Reason: reason, Passed: passed, Inspected: c.Inspected, PlanPercent: percent})
		}
	}
	if plan.FirstPassPercent != nil {
		short(c.FirstPass, *plan.FirstPassPercent, "")
	}
	for _, r := range plan.Reasons {
		failed := 0
		for _, seen := range c.Reasons {
			if seen.Name == r.Characteristic {
				failed = seen.Necks
			}
		}
		short(c.Inspected-failed, 100-r.MostPercent, r.Characteristic)
	}
	return found
}

// signals are those of a watched series that reach its newest value: those of one test on one side are one.
func signals(w spc.Watched) (newest []spc.Signal) {
	for _, s := range w.Signals {
		if s.To == len(w.Values.Points) {
			newest = append(newest, s)
		}
	}
	return newest
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
