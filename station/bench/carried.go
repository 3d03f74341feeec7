package bench

import (
	"context"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// readCarried reads what a neck's attempt carries over from one before, and asks for the rest. What a verdict stands on stays.
func (b *Bench) readCarried(ctx context.Context, n *neck) error {
	all := routine.Points(n.Spec, b.gauges)
	if n.verdict != nil && n.verdict.Disposition != inspect.Remeasure {
		n.Carry(all, batch.Carried(n.verdict.Result))
		return nil
	}
	carried, err := b.inspections.CarriedOver(ctx, n.Inspection.ID)
	n.Carry(all, carried)
	if n.verdict != nil && len(n.Carried) < len(batch.Carried(n.verdict.Result)) {
		n.verdict = nil // more is asked for now
	}
	return err
}

// MeasureWhole has everything of the neck on the bench measured: nothing is carried over.
func (b *Bench) MeasureWhole(ctx context.Context) error {
	return b.does(ctx, toMeasureWhole, func() error {
		n := b.neck()
		if len(n.Carried) == 0 {
			return batch.Conflict.Errorf(b.words.Say("%s is measured whole already: nothing is carried over from an attempt before"), n.Inspection.Serial)
		}
		if err := b.inspections.MeasureWhole(context.WithoutCancel(ctx), b.inspector, n.Inspection.ID); err != nil {
			return err
		}
		n.Inspection.Whole = true
		if err := b.reload(ctx); err != nil {
			return err
		}
		b.sounds(Accepted)
		b.say(false, fmt.Sprintf("Everything of %s is measured: nothing is carried over.", n.Inspection.Serial))
		return nil
	})
}

// lostCarried reads again what may be carried over, where a verdict was refused because that had changed; said is what is asked for instead, "" where
// it had not.
func (b *Bench) lostCarried(ctx context.Context, n *neck, refused error) (said string, err error) {
	had := len(n.Carried)
	if had == 0 || batch.KindOf(refused) != batch.Conflict {
		return "", refused
	}
	if err := b.readCarried(ctx, n); err != nil {
		return "", err
	}
	if len(n.Carried) == had {
		return "", refused
	}
	if err := n.replay(); err != nil {
		return "", err
	}
	b.settle(n)
	return fmt.Sprintf("Work was recorded on %s or doubt cast on it while it was measured, or what was carried over is too old by now: %s asked for.", n.Inspection.Serial,
		tell.Counted(n.Of()-n.Done(), "more point is", "more points are")), nil
}
