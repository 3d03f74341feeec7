package bench

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"sagitta/batch"
	"sagitta/devices"
)

// checkRun is a guided gauge check: zero on the flat reference, then one reading of each master.
type checkRun struct {
	gauge   batch.Gauge
	after   string // what made it needed
	zeroed  bool
	zero    float64
	raw     []byte
	unit    string // in which it was sent
	masters []batch.MasterReading
	doubted *float64 // a reading far from what the step expects, waiting for a second one like it
	then    []string // gauges to be checked after this one
}

// step is what is read next: "zero", then "master"; master is the one to put under the gauge.
func (c *checkRun) step() (step string, master *batch.Master) {
	if !c.zeroed {
		return "zero", nil
	}
	return "master", &c.gauge.Masters[len(c.masters)]
}

func (c *checkRun) words() string {
	press := how(&c.gauge)
	if _, m := c.step(); m != nil {
		return fmt.Sprintf("Put the %g mm master under the %s and %s.", m.NominalMM, c.gauge.Name, press)
	}
	return fmt.Sprintf("Stand the %s on the flat reference and %s.", c.gauge.Name, press)
}

// CheckGauge begins a check of a gauge; its next readings belong to the check.
func (b *Bench) CheckGauge(_ context.Context, gaugeID string) error {
	return b.do(func() error { return b.beginCheck(gaugeID, nil) })
}

// CheckGauges walks through the checks of all gauges that need one and are connected, one after another.
func (b *Bench) CheckGauges(context.Context) error {
	return b.do(func() error {
		var due, away []string
		for i := range b.gauges {
			g := &b.gauges[i]
			if cause, _ := b.needs(g); cause == "" {
				continue
			}
			if connected(b.state(g.ID).health.State) {
				due = append(due, g.ID)
			} else {
				away = append(away, g.Name)
			}
		}
		if len(due) == 0 && len(away) > 0 {
			return fmt.Errorf("the %s cannot be checked while not connected: plug it in", strings.Join(away, ", the "))
		}
		if len(due) == 0 {
			return errors.New("no gauge needs a check now")
		}
		return b.beginCheck(due[0], due[1:])
	})
}

// connected says whether a gauge's line is open.
func connected(s devices.State) bool {
	switch s {
	case devices.StateLive, devices.StateWaiting, devices.StateSilent, devices.StateGarbled, devices.StateLowBattery:
		return true
	}
	return false
}

func (b *Bench) beginCheck(gaugeID string, then []string) error {
	g := b.gauge(gaugeID)
	if g == nil {
		return errors.New("this gauge is not in use at the station")
	}
	if g.OnlySwitch() {
		return fmt.Errorf("the %s measures nothing: there is nothing to check", g.Name)
	}
	if g.OnlyPlaces() {
		return fmt.Errorf("the %s needs no check: every pass finds its place from the frets", g.Name)
	}
	if b.inspector == "" {
		return errors.New("a check is recorded under a name: choose the inspector first")
	}
	b.leaveCheck()
	cause, _ := b.needs(g)
	st := b.state(g.ID)
	switch { // whatever else is due: the zero begins anew
	case st.event != nil && batch.ZeroLost(st.event.What):
		cause = st.event.What
	case st.low && st.check != nil:
		cause = batch.CheckBattery
	}
	st.low = false
	if cause == "" {
		cause = batch.CheckAskedFor
	}
	b.check = &checkRun{gauge: *g, after: cause, then: then}
	b.live.Has, b.notice = false, nil // what was said before it, such as that the gauge is locked out, is being dealt with
	return nil
}

// CancelCheck ends a check, and those that were to follow, without a result.
func (b *Bench) CancelCheck(context.Context) error {
	return b.do(func() error {
		b.leaveCheck()
		return nil
	})
}

// leaveCheck ends a check without a result. The low battery that it was made for has not been answered.
func (b *Bench) leaveCheck() {
	if c := b.check; c != nil && c.after == batch.CheckBattery {
		b.state(c.gauge.ID).low = true
	}
	b.check = nil
}

// ReportDrop notes that a gauge fell or was knocked: it must be checked before it is used again.
func (b *Bench) ReportDrop(ctx context.Context, by, gaugeID string) error {
	return b.do(func() error {
		g := b.gauge(gaugeID)
		if g == nil {
			return errors.New("this gauge is not in use at the station")
		}
		p, err := b.person(ctx, by)
		if err != nil {
			return err
		}
		return b.befell(ctx, g, batch.GaugeEvent{By: p.Name, What: batch.CheckDrop, Detail: "fell or was knocked at " + b.clock(b.now())})
	})
}

// far is how many times what a check allows a reading may be off before it is asked for again: a master that was not put
// under the gauge must not pass for a gauge that has failed.
const far = 10

// checkReading takes one reading of the running check and, after the last, records the outcome.
func (b *Bench) checkReading(ctx context.Context, r devices.Reading) error {
	c := b.check
	step, master := c.step()
	if step == "zero" {
		mm := c.gauge.Correct(r.Value.MM, 0, 0)
		if last := b.state(c.gauge.ID).check; last != nil && !batch.ZeroLost(c.after) && c.gauge.ZeroLimitMM > 0 &&
			c.odd(mm, last.ZeroMM, c.gauge.ZeroLimitMM) {
			return fmt.Errorf("the zero of the %s would move by %+.3f mm, far more than the %.3f mm allowed: is it clean and whole on the flat reference? Press again; the same reading once more counts",
				c.gauge.Name, mm-last.ZeroMM, c.gauge.ZeroLimitMM)
		}
		c.zero, c.raw, c.unit, c.zeroed = mm, r.Raw, r.Value.Unit, true
	} else {
		mm := c.gauge.Correct(r.Value.MM, 0, c.zero)
		if c.odd(mm, master.NominalMM, master.LimitMM) {
			return fmt.Errorf("the %s reads %+.3f mm on the %g mm master: is that master under it? Press again; the same reading once more counts",
				c.gauge.Name, mm, master.NominalMM)
		}
		c.masters = append(c.masters, batch.MasterReading{NominalMM: master.NominalMM, LimitMM: master.LimitMM, ReadMM: mm, Raw: r.Raw})
	}
	if len(c.masters) < len(c.gauge.Masters) {
		return nil
	}
	return b.endCheck(ctx)
}

// odd says whether a reading is far from what its step expects and no second one like it.
func (c *checkRun) odd(mm, want, allowed float64) bool {
	first := c.doubted
	c.doubted = nil
	if math.Abs(mm-want) <= max(far*allowed, 0.05) || first != nil && math.Abs(mm-*first) <= max(allowed, 0.01) {
		return false
	}
	c.doubted = &mm
	return true
}

// endCheck judges and records the check, and goes on to the next gauge that waits for one.
func (b *Bench) endCheck(ctx context.Context) error {
	c := b.check
	st := b.state(c.gauge.ID)
	out := batch.GaugeCheck{GaugeID: c.gauge.ID, By: b.inspector, ZeroMM: c.zero, RawZero: c.raw, Unit: c.unit, Masters: c.masters, After: c.after}
	out.Judge(&c.gauge, st.check)
	good := st.goodAt
	done, err := b.rec.AppendGaugeCheck(ctx, out)
	if err != nil {
		c.zeroed, c.masters = false, nil // nothing is recorded: it begins again
		return err
	}
	st.check, st.event, st.low = &done, nil, false
	b.check = nil
	if b.held != nil && b.held.reading.GaugeID == c.gauge.ID {
		b.held = nil // it rests on the check before, which this one has judged
	}
	b.next(c.then)
	if done.Good {
		st.goodAt = done.At
		b.say(false, fmt.Sprintf("The %s is checked: %s.", c.gauge.Name, done.Why))
		return nil
	}
	said := fmt.Sprintf("the %s failed its check: %s. It is locked out; clean its tip and the reference and check it again", c.gauge.Name, done.Why)
	if done.Doubted > 0 {
		said += fmt.Sprintf(". %s in doubt", inspections(done.Doubted))
		if !good.IsZero() {
			said += ": they rest on its readings since the last good check, " + b.clock(good)
		}
		said += ". The gauge's page lists them"
		if err := b.reloadDoubt(ctx); err != nil {
			return err
		}
	}
	return errors.New(said)
}

// next begins the check of the first gauge of a list that still needs one.
func (b *Bench) next(gauges []string) {
	for i, id := range gauges {
		g := b.gauge(id)
		if g == nil {
			continue
		}
		if cause, _ := b.needs(g); cause != "" && connected(b.state(id).health.State) && b.beginCheck(id, gauges[i+1:]) == nil {
			return
		}
	}
}

// inspections counts them as the subject of a sentence.
func inspections(n int) string {
	if n == 1 {
		return "1 inspection is"
	}
	return fmt.Sprintf("%d inspections are", n)
}
