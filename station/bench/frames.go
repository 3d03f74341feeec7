package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/devices"
)

// Reading takes one decoded frame from a gauge's line. It returns once a data-key press is committed or refused.
func (b *Bench) Reading(r devices.Reading) {
	if b.collect(r) {
		return
	}
	b.framed(r.Key, func() error {
		g := b.gauge(r.Gauge)
		if g == nil {
			return nil
		}
		if err := b.afterSilence(g, r); err != nil {
			return err
		}
		if !r.Value.IsNumber() {
			return b.statusFrame(g, r)
		}
		return b.numberFrame(g, r)
	})
}

// numberFrame takes a frame with a number: what it says about the gauge, then what the state on the bench makes of it.
func (b *Bench) numberFrame(g *batch.Gauge, r devices.Reading) error {
	l := b.line(g.ID)
	l.last = r
	l.leaves(g, r)
	if err := b.answered(g, r); err != nil {
		return err
	}
	if rested(g, r) && (b.state.wants(b).gauge != g.ID || b.servesAnother(g)) {
		r.Key = false // it was put down, no more
	}
	if err := b.afterLowBattery(g, r); err != nil {
		return err
	}
	if r.Key {
		if err := b.atHand(); err != nil {
			return b.notUsed(g, r, err)
		}
	}
	if r.Unrest != nil {
		b.sayUnrest(g, r.Unrest)
	}
	return b.state.frame(b, g, r)
}

// statusFrame takes a frame without a number: a gauge that says it was switched on has lost its zero.
func (b *Bench) statusFrame(g *batch.Gauge, r devices.Reading) error {
	l := b.line(g.ID)
	if r.Value.Status != "low battery" { // that says nothing about where it stands
		l.stands = nil
	}
	switch r.Value.Status {
	case "power-up":
		if err := b.happened(context.Background(), g, batch.GaugeEvent{What: batch.CheckPowerUp, Detail: "was switched on at " + b.clock(r.At)}); err != nil {
			return err
		}
	case "low battery":
		l.low = true
	}
	if r.Key || b.live.GaugeID == g.ID {
		b.live = Live{GaugeID: g.ID, Name: g.Name, Status: r.Value.Status, Seq: b.live.Seq + 1}
	}
	if r.Key {
		return batch.Conflict.Errorf("the %s reports %s instead of a number: nothing was taken", g.Name, r.Value.Status)
	}
	return nil
}

// Fault takes a stretch of bytes that gave no reading, and says so where somebody waits for that gauge.
func (b *Bench) Fault(f devices.Fault) {
	b.framed(false, func() error {
		g := b.gauge(f.Gauge)
		if g == nil || b.base().kind() == isSweeping || b.state.wants(b).gauge != g.ID {
			return nil
		}
		switch {
		case f.Lost && f.Offset > 0:
			return batch.Conflict.Errorf("the %s sent %q after a piece that was no whole reading: it may lack its beginning and was not used: %s again if it was meant to be taken", g.Name, f.Raw, how(g))
		case f.Lost:
			return batch.Conflict.Errorf("the first line of the %s after it was connected may lack its beginning and was not used: %s again if it was meant to be taken", g.Name, how(g))
		}
		return batch.Conflict.Errorf("the %s sent %q, which is no whole reading (%s): nothing was taken. Once more: %s", g.Name, f.Raw, f.Why, how(g))
	})
}

// shows puts a frame in the live reading.
func (b *Bench) shows(g *batch.Gauge, r devices.Reading) {
	x := 0.0
	if n := b.neck(); n != nil {
		if p := n.point(); p != nil {
			x = p.AlongMM
		}
	}
	zero, _ := b.zero(g.ID)
	b.live = Live{GaugeID: g.ID, Name: g.Name, Fresh: true, Has: true, MM: g.Correct(r.Value.MM, x, zero), Seq: b.live.Seq + 1}
}

// idly is what a state that asks nothing of a gauge makes of its frame: it is shown where nothing else is, and a press refused.
func (b *Bench) idly(g *batch.Gauge, r devices.Reading, shown bool) error {
	if shown || b.live.GaugeID == "" {
		b.shows(g, r)
	}
	if !r.Key {
		return nil
	}
	b.line(g.ID).lastKey = r
	return b.notUsed(g, r, b.notHere(toPress, b.state))
}

// notUsed refuses a press and says why.
func (b *Bench) notUsed(g *batch.Gauge, r devices.Reading, why error) error {
	return fmt.Errorf("the %s sent %s %s, but it was not used, because %w", g.Name, r.Value.Digits, r.Value.Unit, why)
}

func (noBatch) frame(b *Bench, g *batch.Gauge, r devices.Reading) error  { return b.idly(g, r, false) }
func (idle) frame(b *Bench, g *batch.Gauge, r devices.Reading) error     { return b.idly(g, r, true) }
func (deciding) frame(b *Bench, g *batch.Gauge, r devices.Reading) error { return b.idly(g, r, false) }
func (decided) frame(b *Bench, g *batch.Gauge, r devices.Reading) error  { return b.idly(g, r, false) }
func (doubled) frame(b *Bench, g *batch.Gauge, r devices.Reading) error  { return b.idly(g, r, false) }
func (s questioned) frame(b *Bench, g *batch.Gauge, r devices.Reading) error {
	return b.idly(g, r, s.wants(b).gauge == g.ID)
}

func (s measuring) frame(b *Bench, g *batch.Gauge, r devices.Reading) error {
	if b.live.GaugeID == "" || s.wants(b).gauge == g.ID {
		b.shows(g, r)
	}
	if r.Key {
		return s.press(b, g, r)
	}
	return nil
}

func (s sweeping) frame(b *Bench, g *batch.Gauge, r devices.Reading) error {
	if s.run.indicator.ID != g.ID {
		return b.idly(g, r, false)
	}
	b.shows(g, r)
	if !r.Key || b.bouncedKey(g, r) {
		return nil
	}
	return s.key(context.Background(), b)
}

func (s studying) frame(b *Bench, g *batch.Gauge, r devices.Reading) error {
	if s.gauge.ID != g.ID {
		if r.Key {
			return b.notUsed(g, r, b.notHere(toPress, s))
		}
		return nil
	}
	b.shows(g, r)
	if !r.Key {
		return nil
	}
	return s.press(context.Background(), b, r)
}

func (s checking) frame(b *Bench, g *batch.Gauge, r devices.Reading) error {
	if s.Gauge.ID != g.ID {
		return s.other(g, r)
	}
	b.shows(g, r)
	if !r.Key {
		return nil
	}
	if b.bouncedKey(g, r) {
		return batch.Conflict.Errorf("the data key of the %s bounced: its second frame was not used for the check", g.Name)
	}
	b.line(g.ID).lastUnit = r.Value.Unit
	return s.read(context.Background(), b, r)
}

// other refuses the press of another gauge than the one under check.
func (s checking) other(g *batch.Gauge, r devices.Reading) error {
	if !r.Key {
		return nil
	}
	return batch.Conflict.Errorf("the %s sent %s %s while the %s is being checked: it was not used. Finish or stop the check first%s",
		g.Name, r.Value.Digits, r.Value.Unit, s.Gauge.Name, s.alike(g))
}
