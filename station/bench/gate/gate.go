// Package gate says when a gauge may be in verdicts: when it has to be checked, after what, and how a check goes. Everything in
// it is a function of the gauge's entry, its newest check, what happened to it since and the moment that is asked about.
package gate

import (
	"fmt"
	"time"

	"sagitta/batch"
)

// Standing is what decides about a gauge.
type Standing struct {
	Gauge *batch.Gauge
	Check *batch.GaugeCheck // newest, nil when it was never checked
	Event *batch.GaugeEvent // what happened to it since its newest check, nil when nothing did
}

// Moment is when and for whom a gauge is asked about.
type Moment struct {
	Now       time.Time
	Inspector string          // who works with it, "" when nobody has signed on
	Shifts    []time.Duration // local times of day at which shifts begin, from midnight; none: midnight alone
}

// duty is what batch.Gauge.CheckNeeded asks of a moment.
func (m Moment) duty() batch.Duty {
	return batch.Duty{Now: m.Now, Inspector: m.Inspector, ShiftBegan: ShiftBegan(m.Shifts, m.Now)}
}

// Due says what makes a check of a gauge needed at a moment, one of the batch.Check words; empty when none is needed.
func Due(s Standing, m Moment) string { return s.Gauge.CheckNeeded(s.Check, s.Event, m.duty()) }

// Why says why a gauge may not be used for a verdict at a moment, as a clause about it ("it has never been checked"); empty when
// it may.
func Why(s Standing, m Moment) string {
	if s.Gauge.CertificateOverdue(m.Now) {
		return "its calibration was due on " + s.Gauge.CertificateDue.Local().Format("2006-01-02")
	}
	switch Due(s, m) {
	case "":
		return ""
	case batch.CheckFirstUse:
		return "it has never been checked"
	case batch.CheckFailed:
		return "its last check failed: " + s.Check.Why
	case batch.CheckShift:
		if began := m.duty().ShiftBegan; began.After(s.Check.At) {
			return fmt.Sprintf("a shift began at %s and its last check was at %s", Clock(began, m.Now), Clock(s.Check.At, m.Now))
		}
		return fmt.Sprintf("%s has taken over and its last check was made by %s", m.Inspector, s.Check.By)
	case batch.CheckDue:
		return fmt.Sprintf("its last check was at %s and holds %g hours", s.Check.At.Local().Format("2006-01-02 15:04"), s.Gauge.CheckHours)
	}
	return "it " + s.Event.Detail + " and has not been checked since"
}

// Since is when the gauge went out of verdicts, zero where it is in them, or that was before its first check.
func Since(s Standing, m Moment) time.Time {
	if s.Gauge.CertificateOverdue(m.Now) {
		return s.Gauge.CertificateDue.AddDate(0, 0, 1)
	}
	switch Due(s, m) {
	case "", batch.CheckFirstUse:
		return time.Time{}
	case batch.CheckFailed:
		return s.Check.At
	case batch.CheckShift:
		if began := m.duty().ShiftBegan; began.After(s.Check.At) {
			return began
		}
		return time.Time{} // when another inspector signed on
	case batch.CheckDue:
		return s.Gauge.CheckRunsOut(s.Check)
	}
	return s.Event.At
}

// ShiftBegan is when the shift began in which a time lies; starts are local times of day from midnight, none: midnight alone.
func ShiftBegan(starts []time.Duration, now time.Time) time.Time {
	var latest time.Time
	for _, began := range shiftsAround(starts, now) {
		if !began.After(now) && began.After(latest) {
			latest = began
		}
	}
	return latest
}

// ShiftEnds is when the next shift begins, by starts as of ShiftBegan.
func ShiftEnds(starts []time.Duration, now time.Time) time.Time {
	var first time.Time
	for _, begins := range shiftsAround(starts, now) {
		if begins.After(now) && (first.IsZero() || begins.Before(first)) {
			first = begins
		}
	}
	return first
}

// shiftsAround are when shifts begin, from the day before a time to the day after it.
func shiftsAround(starts []time.Duration, now time.Time) (all []time.Time) {
	if len(starts) == 0 {
		starts = []time.Duration{0}
	}
	now = now.Local()
	for _, days := range []int{-1, 0, 1} {
		for _, at := range starts {
			all = append(all, time.Date(now.Year(), now.Month(), now.Day()+days, 0, int(at/time.Minute), 0, 0, time.Local))
		}
	}
	return all
}

// Clock is a local time of day, with the date when that is not today's.
func Clock(t, now time.Time) string {
	t, now = t.Local(), now.Local()
	if t.YearDay() == now.YearDay() && t.Year() == now.Year() {
		return t.Format("15:04")
	}
	return t.Format("2006-01-02 15:04")
}
