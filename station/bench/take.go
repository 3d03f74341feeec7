package bench

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/devices"
)

// Take uses the newest frame of the gauge asked for, has it asked for one, or confirms a declared point. Where a reading
// is held it is used.
func (b *Bench) Take(ctx context.Context) error {
	return b.do(func() error {
		if b.held != nil && b.check == nil && b.study == nil {
			return b.answer(ctx, true)
		}
		return b.take(ctx)
	})
}

// FootPress is the foot switch: what the bench page's first key does, and held down, undo. It answers no question in
// favour of the reading held: that takes a look. Held down it discards it.
func (b *Bench) FootPress(ctx context.Context, long bool) error {
	return b.do(func() error {
		switch {
		case long && b.check != nil:
			return errors.New("the foot switch was held down: a check is stopped with its key (F2)")
		case long:
			return b.undo(context.WithoutCancel(ctx))
		case b.check != nil || b.study != nil:
			return b.take(ctx)
		case b.held != nil:
			return fmt.Errorf("%s is held with a question: use it with Space, or hold the foot switch down to discard it", b.held.Words)
		case b.stage() == Decided:
			return b.clear(ctx)
		case b.stage() == PersonDecides:
			return fmt.Errorf("%s waits for a person's decision", b.job.inspection.Serial)
		}
		return b.take(ctx)
	})
}

func (b *Bench) take(ctx context.Context) error {
	if b.check != nil {
		g := b.check.gauge
		return b.takeFrom(&g, "its check", func(r devices.Reading) error {
			st := b.state(g.ID)
			st.lastKey, st.lastUnit = r, r.Value.Unit
			return b.checkReading(ctx, r)
		})
	}
	if b.study != nil {
		g := b.study.gauge
		return b.takeFrom(&g, "its study", func(r devices.Reading) error { return b.studyPress(context.WithoutCancel(ctx), r) })
	}
	if b.job == nil {
		return errNoNeck
	}
	if b.sweepTrack() != "" {
		return b.sweepKey(ctx)
	}
	i := b.job.next()
	if i < 0 {
		return errors.New("the routine is complete: nothing is left to take")
	}
	p := b.job.points[i]
	if p.Point.Kind == batch.PitchDeclared {
		return b.declare(ctx, p)
	}
	g := b.gauge(p.GaugeID)
	if g == nil {
		return fmt.Errorf("%s is typed in: no gauge is entered for it", p.Words)
	}
	return b.takeFrom(g, p.Words, func(r devices.Reading) error { return b.press(g, r) })
}

// takeFrom uses the newest frame of a gauge that sends all the time, or has the gauge asked.
func (b *Bench) takeFrom(g *batch.Gauge, what string, use func(devices.Reading) error) error {
	st := b.state(g.ID)
	last := st.last
	switch {
	case st.health.State != "" && !connected(st.health.State):
		return fmt.Errorf("the %s is %s: nothing was taken for %s. %s", g.Name, st.health.State, what, cmp.Or(st.health.ToDo, "Plug it in"))
	case g.Capture == devices.CaptureRequest:
		return b.request(g, what)
	case !g.Streams():
		return fmt.Errorf("the %s sends when its own data key is pressed: press it for %s", g.Name, what)
	case b.now().Sub(last.At) > fresh:
		return fmt.Errorf("the %s has sent nothing for a second: nothing was taken for %s", g.Name, what)
	case st.used(last):
		return fmt.Errorf("the %s has sent nothing since the last reading: nothing was taken for %s", g.Name, what)
	case st.lastKey.Key && last.At.Sub(st.lastKey.At) < bounce: // nobody sets a gauge down elsewhere in that time
		return fmt.Errorf("the %s was read less than %d ms before: nothing was taken for %s. Press again if it stands there", g.Name, bounce.Milliseconds(), what)
	case b.standsStill(g, true):
		return fmt.Errorf("the %s was not lifted since it was read for something else: nothing was taken for %s. Lift it and set it down there", g.Name, what)
	}
	last.Key = true // a foot switch bounces as a data key does
	b.stood(g, last)
	return use(last)
}

// request has a gauge asked for a reading of what the bench asks for now.
func (b *Bench) request(g *batch.Gauge, what string) error {
	if b.ask == nil {
		return fmt.Errorf("the %s cannot be asked for %s: its line is not open", g.Name, what)
	}
	if err := b.ask(g.ID); err != nil {
		return fmt.Errorf("the %s cannot be asked for %s: %w", g.Name, what, err)
	}
	b.state(g.ID).askedFor = b.purpose()
	return nil
}

// purpose names what a reading would be used for now.
func (b *Bench) purpose() string {
	switch {
	case b.check != nil:
		step, _ := b.check.step()
		return fmt.Sprintf("check %s %s %d", b.check.gauge.ID, step, len(b.check.masters))
	case b.study != nil:
		return fmt.Sprintf("study %s %d", b.study.study.ID, len(b.study.standing))
	case b.job != nil && b.job.next() >= 0:
		return fmt.Sprintf("%s %s %d", b.job.inspection.ID, b.job.points[b.job.next()].Key, b.job.round)
	}
	return ""
}

// answered takes note of a gauge's answer. One that was asked for another purpose than the present one is refused: the
// neck, or the point, has changed under it.
func (b *Bench) answered(g *batch.Gauge, r devices.Reading) error {
	st := b.state(g.ID)
	asked := st.askedFor
	if asked == "" || !r.Key {
		return nil
	}
	st.askedFor = ""
	if now := b.purpose(); now != asked {
		return fmt.Errorf("the %s answered %s %s after something else was asked for: it was not used", g.Name, r.Value.Digits, r.Value.Unit)
	}
	return nil
}

// Unanswered says that a gauge was asked and did not answer.
func (b *Bench) Unanswered(gaugeID string, waited time.Duration) {
	_ = b.do(func() error {
		g := b.gauge(gaugeID)
		if g == nil {
			return nil
		}
		b.state(gaugeID).askedFor = ""
		return fmt.Errorf("the %s was asked and did not answer within %d ms: nothing was taken. See that it is switched on and its cable is in, then %s",
			g.Name, waited.Milliseconds(), how(g))
	})
}

// unwanted says that a reading came at rest although nobody asks for one of this gauge: it was put down, no more. A
// pressed key is a wish and is answered in words.
func (b *Bench) unwanted(g *batch.Gauge, r devices.Reading) bool {
	if g.Capture != devices.CaptureSettled || g.KeyChannel != "" && r.Value.Channel == g.KeyChannel {
		return false
	}
	switch {
	case b.check != nil:
		return b.check.gauge.ID != g.ID
	case b.study != nil:
		return b.study.gauge.ID != g.ID
	}
	return b.askedGauge() != g.ID
}

// sayUnrest says, once for each point, what a gauge that is waited for lacks to be at rest.
func (b *Bench) sayUnrest(g *batch.Gauge, u *devices.Unrest) {
	st, now := b.state(g.ID), b.purpose()
	wanted := b.askedGauge()
	switch {
	case b.check != nil:
		wanted = b.check.gauge.ID
	case b.study != nil:
		wanted = b.study.gauge.ID
	}
	if wanted != g.ID || b.held != nil || st.restless == now {
		return
	}
	st.restless = now
	why := fmt.Sprintf("it moves by %.3f mm within 0.3 s, and may by %.3f mm", u.MovesMM, u.MostMM)
	if u.Slow {
		why = fmt.Sprintf("it sends every %.1f s, too slowly for a rest of 0.3 s to be told", u.Every.Seconds())
	}
	b.say(false, fmt.Sprintf("The reading of the %s does not rest: %s. Stand it firmly, or take it with Space or the foot switch.", g.Name, why))
}

// how says what a person does to have a gauge's reading taken.
func how(g *batch.Gauge) string {
	switch {
	case g.OnlySwitch():
		return "step on it"
	case g.Capture == devices.CaptureSettled:
		return "lift it, set it down and let it rest"
	case g.Capture == devices.CaptureRequest, g.Capture == devices.CaptureStream && g.KeyChannel == "":
		return "press Space or the foot switch"
	}
	return "press its data key"
}
