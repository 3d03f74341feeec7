package bench

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect/unit"
	"sagitta/station/bench/gate"
)

// CheckGauge begins a check of a gauge; its next readings belong to the check.
func (b *Bench) CheckGauge(ctx context.Context, gaugeID string) error {
	return b.byHand(ctx, func() error { return b.beginCheck(gaugeID, nil) })
}

// CheckGauges walks through the checks of all gauges that need one and are connected, one after another.
func (b *Bench) CheckGauges(ctx context.Context) error {
	return b.byHand(ctx, func() error {
		var due, away []string
		for i := range b.gauges {
			g := &b.gauges[i]
			switch {
			case !b.needsCheck(g):
			case b.reachable(g):
				due = append(due, g.ID)
			default:
				away = append(away, g.Name)
			}
		}
		if len(due) == 0 && len(away) > 0 {
			return batch.Conflict.Errorf("the %s cannot be checked while not connected: plug it in", strings.Join(away, ", the "))
		}
		if len(due) == 0 {
			return batch.Conflict.Errorf("no gauge needs a check now")
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

// reachable says that a gauge can be read: its line is open, or it needs none.
func (b *Bench) reachable(g *batch.Gauge) bool {
	return g.ByEye() || connected(b.line(g.ID).health.State)
}

// beginCheck begins a check over what is on the bench; then are the gauges to be checked after it.
func (b *Bench) beginCheck(gaugeID string, then []string) error {
	g, err := b.inUse(gaugeID)
	switch {
	case err != nil:
		return err
	case g.NoGauge():
		return batch.Conflict.Errorf("the %s measures nothing: there is nothing to check", g.Name)
	case g.OnlyPlaces():
		return batch.Conflict.Errorf("the %s needs no check: every sweep finds its place from the frets", g.Name)
	case g.NoCheck():
		return batch.Conflict.Errorf("the %s needs no check: it has no zero", g.Name)
	}
	if err := b.signedOn(); err != nil {
		return err
	}
	b.leaveCheck()
	if err := b.layingEnds(context.Background(), b.neck(), batch.Interruption{Kind: batch.CheckBetween, Of: g.Name}); err != nil {
		return err
	}
	l := b.line(g.ID)
	b.cover(checking{Check: gate.Begin(b.standing(g), l.low, b.moment()), then: then})
	l.low = false
	b.live.Has, b.notice = false, nil // what was said before it, such as that the gauge is locked out, is being dealt with
	if n := b.neck(); n != nil && len(n.said) > 0 {
		b.say(false, n.withSaid(""))
	}
	return nil
}

// CancelCheck ends a check, and those that were to follow, without a result.
func (b *Bench) CancelCheck(ctx context.Context) error {
	return b.byHand(ctx, func() error {
		b.leaveCheck()
		return nil
	})
}

// leaveCheck ends a check without a result. The low battery that it was made for has not been answered.
func (b *Bench) leaveCheck() {
	c, on := b.state.(checking)
	if on && c.After == batch.CheckBattery {
		b.line(c.Gauge.ID).low = true
	}
	b.uncover()
}

// reported are the words for what a person says happened to a gauge.
var reported = map[string]string{batch.CheckDrop: "fell or was knocked at ", batch.CheckPowerUp: "was found without power at "}

// ReportEvent notes what a person says happened to a gauge, that it fell (batch.CheckDrop) or was without power
// (batch.CheckPowerUp): it must be checked before it is used again.
func (b *Bench) ReportEvent(ctx context.Context, by, gaugeID, what string) error {
	return b.do(ctx, func() error {
		g, err := b.inUse(gaugeID)
		if err != nil {
			return err
		}
		p, err := b.person(ctx, by)
		if err != nil {
			return err
		}
		return b.happened(ctx, g, batch.GaugeEvent{By: p.Name, What: what, Detail: reported[what] + b.clock(b.now())})
	})
}

// read takes one reading of the running check and, after the last, records the outcome.
func (s checking) read(ctx context.Context, b *Bench, r devices.Reading) error {
	if words, still := b.standsStill(&s.Gauge, r); still {
		return batch.Conflict.Errorf("the %s has not left its place since it read %s: this was not used for its check. Lift it and set it down there", s.Gauge.Name, words)
	}
	b.stood(&s.Gauge, r, "a step of its check")
	done, odd := s.Take(r.Value.MM, r.Raw, r.Value.Unit)
	switch {
	case odd != nil && odd.Master == nil:
		return batch.Conflict.Errorf("the zero of the %s would move by %s, far more than the %.3f mm allowed: is it clean and whole on the flat reference? Press again; the same reading once more counts",
			s.Gauge.Name, unit.Millimetre.Length(odd.MM, 3, true), s.Gauge.ZeroLimitMM)
	case odd != nil:
		return batch.Conflict.Errorf("the %s reads %s on the %g mm master: is that master under it? Press again; the same reading once more counts",
			s.Gauge.Name, unit.Millimetre.Length(odd.MM, 3, true), odd.Master.NominalMM)
	case !done:
		b.sounds(Taken)
		return nil
	}
	return s.end(ctx, b)
}

// end judges and records the check, and goes on to the next gauge that waits for one.
func (s checking) end(ctx context.Context, b *Bench) error {
	l := b.line(s.Gauge.ID)
	goodBefore := l.goodAt
	done, err := b.rec.AppendGaugeCheck(ctx, s.Outcome(b.inspector))
	if err != nil {
		*s.Check = *s.Again() // nothing is recorded: it begins again
		return fmt.Errorf("the check of the %s was NOT recorded: %w. It begins again", s.Gauge.Name, err)
	}
	l.check, l.event, l.low = &done, nil, false
	b.uncover()
	if q, on := b.state.(questioned); on && q.question.reading.GaugeID == s.Gauge.ID {
		b.settle(q.neck) // it rests on the check before, which this one has judged
	}
	b.checkNext(s.then)
	if done.Good {
		b.sounds(CheckPassed)
		l.goodAt = done.At
		if done.Proved > 0 || done.Untold > 0 || done.StillDoubted > 0 { // what was in doubt counts again, or stays so for another reason
			if err := errors.Join(b.recount(ctx), b.reload(ctx)); err != nil {
				return err
			}
		}
		text := fmt.Sprintf("The %s is checked: %s.%s%s", s.Gauge.Name, done.Why, tell.NoMaster(done), tell.AfterDrop(done))
		if n := b.neck(); n != nil {
			text = n.withSaid(text)
		}
		b.say(false, text)
		return nil
	}
	b.sounds(CheckFailed)
	if done.Doubted > 0 {
		if err := b.reloadDoubt(ctx); err != nil {
			return err
		}
	}
	doubts, err := b.inspections.Doubts(ctx, batch.DoubtFilter{CauseID: done.ID, Standing: true})
	if err != nil {
		return err
	}
	var serials []string
	for _, d := range doubts {
		serials = append(serials, d.Neck.Serial)
	}
	onBench := ""
	if n := b.neck(); n != nil {
		onBench = n.Inspection.Serial
	}
	return batch.Conflict.Errorf("%s", tell.CheckFailed(s.Gauge.Name, done, onBench, serials, goodBefore))
}

// checkNext begins the check of the first gauge of a list that still needs one.
func (b *Bench) checkNext(gauges []string) {
	for i, id := range gauges {
		g := b.gauge(id)
		if g != nil && b.needsCheck(g) && b.reachable(g) && b.beginCheck(id, gauges[i+1:]) == nil {
			return
		}
	}
}

// shown is the check's part of the snapshot, with that of what lies beneath it.
func (s checking) shown(b *Bench, shot *Snapshot) {
	s.beneath.shown(b, shot)
	c := &Check{GaugeID: s.Gauge.ID, Name: s.Gauge.Name, After: s.After, Step: "zero"}
	c.Place, c.Of = s.Place()
	press := how(&s.Gauge)
	c.Words = fmt.Sprintf("Stand the %s on the flat reference and %s.", s.Gauge.Name, press)
	if m := s.Master(); m != nil {
		c.Step, c.MasterMM = "master", m.NominalMM
		c.Words = fmt.Sprintf("Put the %g mm master under the %s and %s.", m.NominalMM, s.Gauge.Name, press)
	}
	if s.Gauge.ByEye() {
		c.Words = stepByEye(&s.Gauge, s.Master())
	}
	for _, id := range s.then {
		if g := b.gauge(id); g != nil {
			c.Then = append(c.Then, g.Name)
		}
	}
	shot.Check = c
}
