package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// reading is a row of a point, of the round that it belongs to, in the place of the one that stands there.
func (b *Bench) reading(n *neck, p *routine.Point) batch.Reading {
	r := batch.Reading{
		InspectionID: n.Inspection.ID, Point: p.Point, Round: n.RoundOf(p.Key), By: b.inspector, Supersedes: n.Replaces(p.Key),
	}
	if ofLaying(p.Point.Kind) {
		r.Laying = n.Laying
	}
	return r
}

// commit makes a reading durable and only then lets it count. A page that leaves meanwhile does not keep it, or the
// verdict that it completes, from the record.
func (b *Bench) commit(ctx context.Context, n *neck, r batch.Reading) error {
	ctx = context.WithoutCancel(ctx)
	if err := n.judgeable(r); err != nil {
		return err
	}
	done, err := b.inspections.AppendReading(ctx, r)
	if err != nil {
		return fmt.Errorf("the reading of %s was NOT recorded: %w", tell.Point(r.Point), err)
	}
	if done.GaugeID != "" {
		b.line(done.GaugeID).lastUnit = done.Unit
	}
	return b.count(ctx, n, done)
}

// keep makes readings durable in one commit, all or none, and only then lets them count; failed says what did not happen.
func (b *Bench) keep(ctx context.Context, n *neck, failed string, rows []batch.Reading) error {
	ctx = context.WithoutCancel(ctx)
	done, err := b.inspections.AppendReadings(ctx, rows)
	if err != nil {
		return fmt.Errorf("%s: %w", failed, err)
	}
	return b.count(ctx, n, done...)
}

// count lets readings count that the record has kept.
func (b *Bench) count(ctx context.Context, n *neck, kept ...batch.Reading) error {
	b.sounds(Taken)
	n.Readings = append(n.Readings, kept...)
	n.Chosen, n.said, n.verdict, n.rework, b.notice, b.live.Fresh = "", nil, nil, nil, nil, false
	return b.progress(ctx, n)
}

// progress replays the readings and, once the routine is complete, records the verdict.
func (b *Bench) progress(ctx context.Context, n *neck) error {
	if err := b.advance(ctx, n); err != nil {
		return err
	}
	if n.Next < 0 {
		return b.conclude(ctx, n)
	}
	if len(n.Doubted) > 0 { // this reading may have ended the neck's doubt
		return b.recount(ctx)
	}
	return nil
}

// Declare confirms that the instrument is at pitch, where the routine asks for it.
func (b *Bench) Declare(ctx context.Context) error {
	return b.does(ctx, toDeclare, func() error {
		n := b.neck()
		p, err := n.asked()
		if err != nil {
			return err
		}
		if p.Point.Kind != batch.PitchDeclared {
			return batch.Conflict.Errorf("pitch is not what is asked for now, but %s", p.Words)
		}
		return b.declare(ctx, n, p)
	})
}

func (b *Bench) declare(ctx context.Context, n *neck, p *routine.Point) error {
	r := b.reading(n, p)
	r.Value = 1
	return b.commit(ctx, n, r)
}

// Answer uses or discards the questioned reading, or says whether a rework step was done again, a neck is inspected again, or whether a crown that was measured
// again as before is so.
func (b *Bench) Answer(ctx context.Context, use bool) error {
	return b.does(ctx, toAnswer, func() error {
		switch s := b.base().(type) {
		case doubled:
			return s.answer(ctx, b, use)
		case scannedAgain:
			return s.answer(ctx, b, use)
		case measuring:
			return s.sure(context.WithoutCancel(ctx), b, use)
		}
		return b.base().(questioned).answer(ctx, b, use)
	})
}

func (s questioned) answer(ctx context.Context, b *Bench, use bool) error {
	q := s.question
	if !use {
		b.settle(s.neck)
		b.sounds(TakenBack)
		b.say(false, q.Words+": not used. Measure it again.")
		return nil
	}
	if g := b.gauge(q.reading.GaugeID); g != nil {
		if why := b.locked(g); why != "" {
			return batch.Conflict.Errorf("the %s is locked out: %s. %s is not used: discard it, check the gauge, then measure it again", g.Name, why, q.Words)
		}
	}
	q.reading.Reason = "used after the question: " + q.Asks
	b.usedAgain(q.reading.GaugeID)
	return b.commit(ctx, s.neck, q.reading) // where it was not recorded the question stands, and may be answered again
}

// Skip notes that the point asked for cannot be measured.
func (b *Bench) Skip(ctx context.Context) error {
	return b.does(ctx, toSkip, func() error {
		n := b.neck()
		p, err := n.asked()
		if err != nil {
			return err
		}
		switch n.Purpose {
		case routine.ToClose, routine.ToAsk, routine.ToBeSure:
			return batch.Conflict.Errorf("%s was measured before: measure it once more, or say that the neck or the carriage moved (F1)", p.Words)
		}
		const reason = "cannot be measured"
		var rows []batch.Reading // a reading that stands is taken back in the same commit
		if old := n.Stands(p.Key); old != nil {
			rows = append(rows, b.takenBack(n, *old, reason))
		}
		skipped := b.reading(n, p)
		skipped.Withdrawn, skipped.Supersedes, skipped.Reason = true, "", reason
		b.sounds(Skipped)
		return b.keep(ctx, n, p.Words+" was NOT marked as not to be measured", append(rows, skipped))
	})
}

// takenBack is the row that says that a reading no longer counts.
func (b *Bench) takenBack(n *neck, r batch.Reading, reason string) batch.Reading {
	return batch.Reading{
		InspectionID: n.Inspection.ID, Point: r.Point, Round: r.Round, Laying: r.Laying, By: b.inspector,
		Withdrawn: true, Supersedes: r.ID, Reason: reason,
	}
}

// Undo takes the newest rework step since the verdict back, else the newest standing reading, which opens a verdict again; the record
// keeps both. A question is answered with no, a running sweep is thrown away.
func (b *Bench) Undo(ctx context.Context) error {
	ctx = context.WithoutCancel(ctx) // it is done whole, whether the page stays or not
	return b.does(ctx, toUndo, func() error { return b.base().undo(ctx, b) })
}

// undoLast takes the newest standing reading of a neck back, with the whole sweep that it came by.
func (b *Bench) undoLast(ctx context.Context, n *neck) error {
	if k := len(n.rework); k > 0 {
		return b.takeWorkBack(ctx, n, n.rework[k-1])
	}
	last := n.Newest()
	if last == nil {
		return batch.Conflict.Errorf("nothing has been taken yet")
	}
	said, reason := tell.Point(last.Point)+" taken back. Measure it again.", "taken back"
	together := n.CameWith(last)
	swept := len(together) > 1 && !last.Point.Kind.IsLeaf()
	if len(together) > 1 {
		said = inspect.Place(last.Point.Track, 0, last.Point.Fret) + ", the leaf that passes and the one that does not: taken back. Measure it again."
	}
	if swept {
		reason = "sweep taken back"
		said = fmt.Sprintf("The sweep along the %s is taken back, %s. Sweep it again.", inspect.Side(last.Point.Track), tell.Count(len(together)-1, "crown"))
	}
	rows := make([]batch.Reading, len(together))
	for i, r := range together {
		rows[i] = b.takenBack(n, r, reason)
	}
	back, err := b.inspections.TakeBack(ctx, b.inspector, n.Inspection.ID, rows)
	if err != nil {
		return err
	}
	n.Inspection.State = batch.Open
	n.Readings = append(n.Readings, back...)
	n.verdict, n.Chosen, n.said = nil, "", nil
	if swept {
		n.swept = nil
	}
	if err := b.progress(ctx, n); err != nil {
		return err
	}
	b.sounds(TakenBack)
	b.say(false, n.withSaid(said))
	return b.recount(ctx)
}

// Choose asks for a point out of turn; its reading replaces the one it has. Chosen again it is no longer asked for.
func (b *Bench) Choose(ctx context.Context, key string) error {
	return b.does(ctx, toChoose, func() error {
		n := b.neck()
		if n.Point(key) == nil {
			return batch.Absent.Errorf("the routine has no point %q", key)
		}
		if n.Chosen == key {
			key = ""
		}
		n.Chosen = key
		return b.advance(context.WithoutCancel(ctx), n)
	})
}
