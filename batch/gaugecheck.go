package batch

import (
	"math"
	"time"
)

// GaugeCheck is a check of a gauge: zero on the flat reference, then every master. It is never changed.
type GaugeCheck struct {
	ID      string
	GaugeID string
	At      time.Time
	By      string
	ZeroMM  float64 // corrected reading on the flat: the zero in force from now on
	// ZeroSentMM is what the gauge sent on the flat, mm, before its sense and corrections: with another entry the zero is taken
	// anew from it. nil: not on record.
	ZeroSentMM *float64
	ShiftMM    float64         // from the zero before
	ZeroJudged bool            // ShiftMM was compared with what is allowed
	Masters    []MasterReading // in the order in which they were read
	Good       bool
	Why        string // sentence: what was found and what is allowed
	After      string // what made it needed, one of the Check words
	RawZero    []byte
	Unit       string // in which the zero was sent, "" where its frame named none
	Doubted    int    // inspections that a failed check casts doubt on, those inspected again since with them
	Proved     int    // inspections that it cleared of the doubt of a drop
	Untold     int    // inspections that stay in the doubt of a drop: it passed and could not judge the zero
	// StillDoubted are inspections whose doubt of a drop it ends while another stands, counted as it is kept and not read again.
	StillDoubted int
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

// Judge fills in ShiftMM, ZeroJudged and Good from the zero, the masters and the check before, nil at the first. After must be
// set: the zero's shift is judged whatever came before, unless the gauge has lost its zero with its power (LostZero), nothing
// is there to compare it with, or any shift is allowed. The masters are judged always.
func (c *GaugeCheck) Judge(g *Gauge, before *GaugeCheck) {
	c.Good, c.ShiftMM, c.ZeroJudged = true, 0, false
	if before != nil {
		c.ShiftMM = c.ZeroMM - before.zeroOf(g)
		c.ZeroJudged = g.ZeroLimitMM > 0 && !g.LostZero(c.After)
		c.Good = !c.ZeroJudged || c.ZeroGood(g)
	}
	for _, m := range c.Masters {
		c.Good = c.Good && m.Good()
	}
}

// ZeroGood says whether the zero's shift is within what the gauge's entry allows.
func (c *GaugeCheck) ZeroGood(g *Gauge) bool { return math.Abs(c.ShiftMM) <= g.ZeroLimitMM+1e-9 }

// zeroOf is the check's zero as the gauge's present entry makes it of what was sent; as it was kept where that is not on record.
func (c *GaugeCheck) zeroOf(g *Gauge) float64 {
	if c.ZeroSentMM == nil {
		return c.ZeroMM
	}
	return g.Correct(*c.ZeroSentMM, 0, 0)
}

// ZeroSuspect says whether what made a check needed may have moved the gauge's zero.
func ZeroSuspect(after string) bool {
	switch after {
	case CheckReconnect, CheckPowerUp, CheckBattery, CheckSilence, CheckDrop, CheckEntry:
		return true
	}
	return false
}

// What makes a gauge lose its zero: nothing, its power, or its power that it has from the cable of its line.
const (
	LosesNever     = ""
	LosesWithPower = "power"
	LosesWithLine  = "line power"
)

// ZeroLosses are all of them.
var ZeroLosses = []string{LosesNever, LosesWithPower, LosesWithLine}

// LostZero says whether what made a check needed took the gauge's power, and its zero with it. A gauge that should be heard and
// was silent counts as switched off: nothing else would tell.
func (g *Gauge) LostZero(after string) bool {
	switch after {
	case CheckPowerUp, CheckBattery, CheckSilence:
		return g.LosesZero != LosesNever
	case CheckReconnect:
		return g.LosesZero == LosesWithLine
	}
	return false
}

// Gravest is what a check answers of all that happened to a gauge since the one before: what took its zero, else a drop, else
// what may have moved the zero, else what came first; nil of nothing.
func (g *Gauge) Gravest(events []GaugeEvent) *GaugeEvent {
	var gravest *GaugeEvent
	for i := range events {
		if gravest == nil || g.gravity(events[i].What) > g.gravity(gravest.What) {
			gravest = &events[i]
		}
	}
	return gravest
}

func (g *Gauge) gravity(what string) int {
	switch {
	case g.LostZero(what):
		return 3
	case what == CheckDrop:
		return 2
	case ZeroSuspect(what):
		return 1
	}
	return 0
}

// GaugeEvent is something that happened to a gauge, after which it must be checked before its readings count. It is never
// changed; a later check answers it.
type GaugeEvent struct {
	ID      string
	GaugeID string
	At      time.Time
	By      string // who said so; empty: the station saw it
	What    string // a cause that ZeroSuspect knows, or CheckNotWatched
	Detail  string // sentence without its subject: "was unplugged at 14:05"
	Doubted int    // inspections that a drop put in doubt, and none before it since the gauge's check
	// Standing are the inspections in doubt by the drops since the gauge's check, counted as this one is kept and not read again.
	Standing int
}
