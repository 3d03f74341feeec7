package bench

import (
	"context"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/bench/routine"
)

// What the bench's two keys do in each state: take is Space, undo is F2. The foot switch presses them too.

// empty is a bench with nothing on it to take or to undo.
type empty struct{}

func (empty) take(_ context.Context, b *Bench) error { return b.notHere(toTake, b.base()) }
func (empty) undo(_ context.Context, b *Bench) error { return b.notHere(toUndo, b.base()) }
func (empty) shown(*Bench, *Snapshot)                {}

func (deciding) take(_ context.Context, b *Bench) error { return b.notHere(toTake, b.state) }
func (decided) take(_ context.Context, b *Bench) error  { return b.notHere(toTake, b.state) }

func (s measuring) take(ctx context.Context, b *Bench) error {
	if s.sweepTrack(b.gauges) != "" {
		return b.beginSweep(s.neck)
	}
	if s.Purpose == routine.ToBeSure {
		return batch.Conflict.Errorf("%s: F3 says that it is so, F2 takes it back to be measured again", s.here(b.words))
	}
	p := s.point()
	if p == nil { // its verdict could not be recorded
		return b.conclude(context.WithoutCancel(ctx), s.neck)
	}
	if p.Point.Kind == batch.PitchDeclared {
		return b.declare(ctx, s.neck, p)
	}
	g := b.gauge(p.GaugeID)
	if g == nil {
		return batch.Conflict.Errorf("%s is typed in: no gauge is entered for it", p.Words)
	}
	return b.takeFrom(g, p.Words, func(r devices.Reading) error { return s.press(b, g, r) })
}

func (s doubled) take(_ context.Context, b *Bench) error { return b.notHere(toTake, s) }

func (s questioned) take(_ context.Context, b *Bench) error { return b.notHere(toTake, s) }

func (s sweeping) take(ctx context.Context, b *Bench) error { return s.key(ctx, b) }

func (s studying) take(ctx context.Context, b *Bench) error {
	g := s.gauge
	return b.takeFrom(&g, "its study", func(r devices.Reading) error { return s.press(context.WithoutCancel(ctx), b, r) })
}

func (s checking) take(ctx context.Context, b *Bench) error {
	g := s.Gauge
	if g.ByEye() {
		return s.shows(ctx, b)
	}
	return b.takeFrom(&g, "its check", func(r devices.Reading) error {
		l := b.line(g.ID)
		l.lastKey, l.lastUnit = r, r.Value.Unit
		return s.read(ctx, b, r)
	})
}

func (s measuring) undo(ctx context.Context, b *Bench) error { return b.undoLast(ctx, s.neck) }
func (s deciding) undo(ctx context.Context, b *Bench) error  { return b.undoLast(ctx, s.neck) }
func (s decided) undo(ctx context.Context, b *Bench) error   { return b.undoLast(ctx, s.neck) }
func (s doubled) undo(ctx context.Context, b *Bench) error   { return s.answer(ctx, b, false) }

func (s questioned) undo(ctx context.Context, b *Bench) error { return s.answer(ctx, b, false) }

func (s sweeping) undo(_ context.Context, b *Bench) error {
	b.settle(s.neck)
	b.say(false, "The sweep was thrown away; nothing of it was recorded.")
	return nil
}

func (s checking) undo(ctx context.Context, b *Bench) error { return s.beneath.undo(ctx, b) }

// Take uses the newest frame of the gauge asked for, has it asked for one, or confirms a declared point. A sweep is begun or ended. It
// answers no question: that would be what the next press was meant to take.
func (b *Bench) Take(ctx context.Context) error {
	return b.does(ctx, toTake, func() error { return b.state.take(ctx, b) })
}

// FootPress is the foot switch: what the bench page's first key does, and held down, undo. It answers no question in
// favour of the reading: that takes a look. Held down it discards it.
func (b *Bench) FootPress(ctx context.Context, long bool) error {
	if long {
		return b.footHeld(ctx)
	}
	return b.byHand(ctx, func() error {
		switch s := b.state.(type) {
		case questioned:
			return batch.Conflict.Errorf("%s is questioned: use it with F3, or hold the foot switch down to discard it", s.question.Words)
		case decided:
			return b.clear(ctx, s.neck)
		}
		return b.state.take(ctx, b)
	})
}

// footHeld is the foot switch held down.
func (b *Bench) footHeld(ctx context.Context) error {
	return b.byHand(ctx, func() error {
		if b.state.kind() == isChecking {
			return batch.Conflict.Errorf("the foot switch was held down: a check is stopped with its key (F2)")
		}
		return b.state.undo(context.WithoutCancel(ctx), b)
	})
}
