package batch

import (
	"fmt"
	"math"
	"time"

	"sagitta/inspect"
)

// GaugeCheck is a check of a gauge: zero on the flat reference, then every master. It is never changed.
type GaugeCheck struct {
	ID      string
	GaugeID string
	At      time.Time
	By      string
	ZeroMM  float64         // corrected reading on the flat: the zero in force from now on
	ShiftMM float64         // from the zero before
	Masters []MasterReading // in the order in which they were read
	Good    bool
	Why     string // sentence: what was found and what is allowed
	After   string // what made it needed, one of the Check words
	RawZero []byte
	Unit    string // in which the zero was sent, "" where its frame named none
	Doubted int    // inspections that a failed check put in doubt
}

// What makes a check needed.
const (
	CheckFirstUse   = "first use"
	CheckShift      = "before the shift"
	CheckDue        = "due"
	CheckFailed     = "failed check"
	CheckAskedFor   = "asked for"
	CheckReconnect  = "reconnection"
	CheckPowerUp    = "power-up"
	CheckBattery    = "low battery"
	CheckSilence    = "silence" // of a gauge that should be heard: it may have been switched off
	CheckDrop       = "drop"
	CheckNotWatched = "not watched"
	CheckEntry      = "changed entry"
)

// MasterReading is what a gauge read on one master at a check.
type MasterReading struct {
	NominalMM float64
	LimitMM   float64 // accepted at that check; 0: not on record
	ReadMM    float64 // corrected
	Raw       []byte
}

// ErrorMM is the deviation on the master, read minus nominal, mm.
func (m MasterReading) ErrorMM() float64 { return m.ReadMM - m.NominalMM }

// Good says whether the deviation is accepted. The comparison allows for the last binary digits of a difference.
func (m MasterReading) Good() bool { return math.Abs(m.ErrorMM()) <= m.LimitMM+1e-9 }

// WorstMaster is the check's largest deviation on a master, compared with what is accepted on it; nil without masters.
func (c *GaugeCheck) WorstMaster() *MasterReading {
	var worst *MasterReading
	share := func(m *MasterReading) float64 {
		if m.LimitMM > 0 {
			return math.Abs(m.ErrorMM()) / m.LimitMM
		}
		return math.Abs(m.ErrorMM())
	}
	for i := range c.Masters {
		if m := &c.Masters[i]; worst == nil || share(m) > share(worst) {
			worst = m
		}
	}
	return worst
}

// Judge fills in Good and Why from the zero, the masters and the check before, nil at the first. After must be set: where
// the zero is known to be lost (ZeroLost) it starts anew and its shift is
// not judged; the masters are judged always.
func (c *GaugeCheck) Judge(g *Gauge, before *GaugeCheck) {
	c.Good, c.ShiftMM, c.Why = true, 0, "first zero"
	if before != nil {
		c.ShiftMM = c.ZeroMM - before.ZeroMM
		c.Why = "zero moved by " + inspect.Number(c.ShiftMM, 3, true) + " mm"
		switch {
		case ZeroLost(c.After):
			c.Why += " (begun anew after a " + c.After + ")"
		case g.ZeroLimitMM > 0 && math.Abs(c.ShiftMM) > g.ZeroLimitMM+1e-9:
			c.Good = false
			c.Why += fmt.Sprintf(", more than the %.3f mm allowed", g.ZeroLimitMM)
		}
	}
	for _, m := range c.Masters {
		c.Why += fmt.Sprintf(", %s mm on the %g mm master (allowed %.3f)", inspect.Number(m.ErrorMM(), 3, true), m.NominalMM, m.LimitMM)
		c.Good = c.Good && m.Good()
	}
}

// ZeroLost says whether what made a check needed has cost the gauge its zero.
func ZeroLost(after string) bool {
	switch after {
	case CheckReconnect, CheckPowerUp, CheckBattery, CheckSilence, CheckDrop, CheckEntry:
		return true
	}
	return false
}

// GaugeEvent is something that befell a gauge, after which it must be checked before its readings count. It is never
// changed; a later check answers it.
type GaugeEvent struct {
	ID      string
	GaugeID string
	At      time.Time
	By      string // who said so; empty: the station saw it
	What    string // a cause that ZeroLost knows, or CheckNotWatched
	Detail  string // sentence without its subject: "was unplugged at 14:05"
}
