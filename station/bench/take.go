package bench

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"sagitta/batch"
	"sagitta/devices"
)

// fresh is how old a streaming gauge's frame may be to be taken.
const fresh = time.Second

// takeFrom uses the newest frame of a gauge that sends all the time, or has the gauge asked.
func (b *Bench) takeFrom(g *batch.Gauge, what string, use func(devices.Reading) error) error {
	l := b.line(g.ID)
	last := l.last
	switch {
	case g.ByEye():
		return batch.Conflict.Errorf("the %s has no line: %s for %s", g.Name, how(g), what)
	case l.health.State != "" && !connected(l.health.State):
		return batch.Conflict.Errorf("the %s is %s: nothing was taken for %s. %s", g.Name, l.health.State, what, cmp.Or(b.toDo(g), "Plug it in"))
	case g.Capture == devices.CaptureRequest:
		return b.request(g, what)
	case !g.Streams():
		return batch.Conflict.Errorf("the %s sends when its own data key is pressed: press it for %s", g.Name, what)
	case b.now().Sub(last.At) > fresh:
		return batch.Conflict.Errorf("the %s has sent nothing for a second: nothing was taken for %s", g.Name, what)
	case l.used(last):
		return batch.Conflict.Errorf("the %s has sent nothing since the last reading: nothing was taken for %s", g.Name, what)
	case l.lastKey.Key && last.At.Sub(l.lastKey.At) < bounce: // nobody sets a gauge down elsewhere in that time
		return batch.Conflict.Errorf("the %s was read less than %d ms before: nothing was taken for %s. Press again if it stands there", g.Name, bounce.Milliseconds(), what)
	}
	last.Key = true // a foot switch bounces as a data key does
	return use(last)
}

// request has a gauge asked for a reading of what the bench asks for now.
func (b *Bench) request(g *batch.Gauge, what string) error {
	if b.ask == nil {
		return batch.Conflict.Errorf("the %s cannot be asked for %s: its line is not open", g.Name, what)
	}
	if err := b.ask(g.ID); err != nil {
		return batch.Conflict.Errorf("the %s cannot be asked for %s: %w", g.Name, what, err)
	}
	b.line(g.ID).askedFor = b.state.wants(b).purpose
	return nil
}

// answered takes note of a gauge's answer. One that was asked for another purpose than the present one is refused: the
// neck, or the point, has changed under it.
func (b *Bench) answered(g *batch.Gauge, r devices.Reading) error {
	l := b.line(g.ID)
	asked := l.askedFor
	if asked == "" || !r.Key {
		return nil
	}
	l.askedFor = ""
	if b.state.wants(b).purpose != asked {
		return batch.Conflict.Errorf("the %s answered %s %s after something else was asked for: it was not used", g.Name, r.Value.Digits, r.Value.Unit)
	}
	return nil
}

// Unanswered says that a gauge was asked and did not answer.
func (b *Bench) Unanswered(gaugeID string, waited time.Duration) {
	_ = b.do(context.Background(), func() error {
		g := b.gauge(gaugeID)
		if g == nil {
			return nil
		}
		b.line(gaugeID).askedFor = ""
		return batch.Conflict.Errorf("the %s was asked and did not answer within %d ms: nothing was taken. See that it is switched on and its cable is in, then %s",
			g.Name, waited.Milliseconds(), how(g))
	})
}

// sayUnrest says, once for each point, what a gauge that is waited for lacks to be at rest.
func (b *Bench) sayUnrest(g *batch.Gauge, u *devices.Unrest) {
	l, now := b.line(g.ID), b.state.wants(b)
	if now.gauge != g.ID || b.base().kind() == isQuestioned || l.restless == now.purpose {
		return
	}
	l.restless = now.purpose
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
	case g.OnlyLamp():
		return "look at it"
	case g.Kind == batch.LeavesGauge:
		return "tap the leaf, or type it"
	case g.ByEye():
		return "type what it shows"
	case g.Capture == devices.CaptureSettled:
		return "lift it, set it down and let it rest"
	case g.Capture == devices.CaptureRequest, g.Capture == devices.CaptureStream && g.KeyChannel == "":
		return "press Space or the foot switch"
	}
	return "press its data key"
}
