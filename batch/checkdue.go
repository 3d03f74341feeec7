package batch

import "time"

// Duty is the moment at which a gauge is wanted: the time, when the present shift began, and who inspects, "" for nobody yet.
type Duty struct {
	Now        time.Time
	ShiftBegan time.Time
	Inspector  string
}

// CheckNeeded says what makes a check of the gauge needed before its readings count: one of the Check words, "" where none is
// needed. last is its newest check, nil before the first; event is what happened to the gauge since, nil for nothing.
func (g *Gauge) CheckNeeded(last *GaugeCheck, event *GaugeEvent, d Duty) string {
	if g.NoCheck() {
		return ""
	}
	switch {
	case last == nil:
		return CheckFirstUse
	case !last.Good:
		return CheckFailed
	case event != nil:
		return event.What
	case g.EachShift && (d.ShiftBegan.After(last.At) || d.Inspector != "" && d.Inspector != last.By):
		return CheckShift
	}
	if out := g.CheckRunsOut(last); !out.IsZero() && d.Now.After(out) {
		return CheckDue
	}
	return ""
}

// CheckRunsOut is when a good check ceases to hold by time, zero where it never does.
func (g *Gauge) CheckRunsOut(last *GaugeCheck) time.Time {
	if g.CheckHours <= 0 || last == nil || !last.Good {
		return time.Time{}
	}
	return last.At.Add(time.Duration(g.CheckHours * float64(time.Hour)))
}
