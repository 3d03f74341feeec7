package gate

import (
	"math"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// far is how many times what a check allows a reading may be off before it is asked for again: a master that was not put
// under the gauge must not pass for a gauge that has failed.
const far = 10

// What is no slip of the hand however finely a gauge's check allows, mm; common practice, no source.
const (
	leastFar  = 0.05 // a reading this near what its step expects is judged, not asked for again
	mostApart = 0.01 // two far readings this near each other are what the gauge shows
)

// Check is a guided gauge check: zero on the flat reference, then one reading of each master. What is read next follows from what
// was read.
type Check struct {
	Gauge   batch.Gauge
	After   string            // what made it needed, one of the batch.Check words
	Before  *batch.GaugeCheck // the check before, nil at the first
	zeroed  bool
	zero    float64
	sent    float64 // what the gauge sent for it, mm
	raw     []byte
	unit    string // in which it was sent
	masters []batch.MasterReading
	doubted *float64 // a reading far from what the step expects, waiting for a second one like it
}

// Begin is a check that is made after something happened; event is what did since the check before, nil when nothing did. low
// says that a low battery was reported. What may have moved the gauge's zero comes first, whatever else is due.
func Begin(s Standing, low bool, m Moment) *Check {
	cause := Due(s, m)
	switch {
	case s.Event != nil && batch.ZeroSuspect(s.Event.What):
		cause = s.Event.What
	case low && s.Check != nil:
		cause = batch.CheckBattery
	}
	if cause == "" {
		cause = batch.CheckAskedFor
	}
	return &Check{Gauge: *s.Gauge, After: cause, Before: s.Check}
}

// Again is the check from its beginning.
func (c *Check) Again() *Check { return &Check{Gauge: c.Gauge, After: c.After, Before: c.Before} }

// Master is the master to put under the gauge next, nil while the zero is asked for.
func (c *Check) Master() *batch.Master {
	if !c.zeroed {
		return nil
	}
	return &c.Gauge.Masters[len(c.masters)]
}

// Place is the number of the step that is asked for, from 1, and how many there are.
func (c *Check) Place() (n, of int) {
	n, of = 1, 1+len(c.Gauge.Masters)
	if c.zeroed {
		n = 2 + len(c.masters)
	}
	return n, of
}

// Odd is a reading that was not taken because it is far from what its step expects; the same reading once more counts.
type Odd struct {
	Master *batch.Master // that was asked for, nil at the zero
	MM     float64       // what was read; at the zero, by how much it would move
}

// Take takes one reading: mm as the gauge sent it, with its frame's bytes and unit. done says that it was the last; odd is what
// kept it from being taken, nil when it was.
func (c *Check) Take(mm float64, raw []byte, unit string) (done bool, odd *Odd) {
	if !c.zeroed {
		sent := mm
		mm = c.Gauge.Correct(mm, 0, 0)
		zero := batch.GaugeCheck{ZeroMM: mm, After: c.After}
		if zero.Judge(&c.Gauge, c.Before); zero.ZeroJudged && c.odd(mm, mm-zero.ShiftMM, c.Gauge.ZeroLimitMM) {
			return false, &Odd{MM: zero.ShiftMM}
		}
		c.zero, c.sent, c.raw, c.unit, c.zeroed = mm, sent, raw, unit, true
		return len(c.Gauge.Masters) == 0, nil
	}
	master := c.Master()
	mm = c.Gauge.Correct(mm, 0, c.zero)
	if c.odd(mm, master.NominalMM, master.LimitMM) {
		return false, &Odd{Master: master, MM: mm}
	}
	c.masters = append(c.masters, batch.MasterReading{NominalMM: master.NominalMM, LimitMM: master.LimitMM, ReadMM: mm, Raw: raw})
	return len(c.masters) == len(c.Gauge.Masters), nil
}

// odd says whether a reading is far from what its step expects and no second one like it.
func (c *Check) odd(mm, want, allowed float64) bool {
	first := c.doubted
	c.doubted = nil
	if math.Abs(mm-want) <= max(far*allowed, leastFar) || first != nil && math.Abs(mm-*first) <= max(allowed, mostApart) {
		return false
	}
	c.doubted = &mm
	return true
}

// Outcome is the finished check as the record keeps it, judged.
func (c *Check) Outcome(by string) batch.GaugeCheck {
	out := batch.GaugeCheck{GaugeID: c.Gauge.ID, By: by, ZeroMM: c.zero, ZeroSentMM: &c.sent, RawZero: c.raw, Unit: c.unit, Masters: c.masters, After: c.After}
	out.Judge(&c.Gauge, c.Before)
	out.Why = tell.CheckFound(&c.Gauge, out, c.Before == nil)
	return out
}
