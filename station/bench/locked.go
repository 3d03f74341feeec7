package bench

import (
	"fmt"
	"time"

	"sagitta/batch"
)

// locked says why a gauge may not be used for a verdict now; empty when it may.
func (b *Bench) locked(g *batch.Gauge) string {
	if g.CertificateOverdue(b.now()) {
		return "its calibration was due on " + g.CertificateDue.Local().Format("2006-01-02")
	}
	_, why := b.needs(g)
	return why
}

// needs says what makes a check of the gauge needed now, and why in words; both empty when none is.
func (b *Bench) needs(g *batch.Gauge) (cause, why string) {
	st := b.state(g.ID)
	duty := batch.Duty{Now: b.now(), Inspector: b.inspector}
	duty.ShiftBegan = b.shiftBegan(duty.Now)
	cause = g.CheckNeeded(st.check, st.event, duty)
	switch cause {
	case "":
		return "", ""
	case batch.CheckFirstUse:
		return cause, "it has never been checked"
	case batch.CheckFailed:
		return cause, "its last check failed: " + st.check.Why
	case batch.CheckShift:
		if duty.ShiftBegan.After(st.check.At) {
			return cause, fmt.Sprintf("a shift began at %s and its last check was at %s", b.clock(duty.ShiftBegan), b.clock(st.check.At))
		}
		return cause, fmt.Sprintf("%s has taken over and its last check was made by %s", b.inspector, st.check.By)
	case batch.CheckDue:
		return cause, fmt.Sprintf("its last check was at %s and holds %g hours", st.check.At.Local().Format("2006-01-02 15:04"), g.CheckHours)
	}
	return cause, "it " + st.event.Detail + " and has not been checked since"
}

// shiftBegan is when the present shift began.
func (b *Bench) shiftBegan(now time.Time) time.Time {
	starts := b.shifts
	if len(starts) == 0 {
		starts = []time.Duration{0}
	}
	now = now.Local()
	var latest time.Time
	for _, days := range []int{-1, 0} {
		for _, at := range starts {
			began := time.Date(now.Year(), now.Month(), now.Day()+days, 0, int(at/time.Minute), 0, 0, time.Local)
			if !began.After(now) && began.After(latest) {
				latest = began
			}
		}
	}
	return latest
}

// lockedSince is when the gauge went out of verdicts, zero where that was before its first check.
func (b *Bench) lockedSince(g *batch.Gauge) time.Time {
	st := b.state(g.ID)
	if g.CertificateOverdue(b.now()) {
		return g.CertificateDue.AddDate(0, 0, 1)
	}
	switch cause, _ := b.needs(g); {
	case st.check == nil:
		return time.Time{}
	case cause == batch.CheckFailed:
		return st.check.At
	case st.event != nil:
		return st.event.At
	case cause == batch.CheckDue:
		return g.CheckRunsOut(st.check)
	}
	return time.Time{}
}

// shown is the check's part of the snapshot.
func (c *checkRun) shown(gauge func(id string) *batch.Gauge) *Check {
	step, master := c.step()
	out := &Check{GaugeID: c.gauge.ID, Name: c.gauge.Name, Step: step, Words: c.words(), After: c.after, Place: 1, Of: 1 + len(c.gauge.Masters)}
	if master != nil {
		out.MasterMM, out.Place = master.NominalMM, 2+len(c.masters)
	}
	for _, id := range c.then {
		if g := gauge(id); g != nil {
			out.Then = append(out.Then, g.Name)
		}
	}
	return out
}
