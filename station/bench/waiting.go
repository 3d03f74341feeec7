package bench

import (
	"context"
	"time"

	"sagitta/batch"
	"sagitta/station/bench/routine"
)

// Waiting is what waits to be dealt with.
type Waiting struct {
	Locked  []GaugeLine    // gauges that are out of verdicts
	InDoubt batch.NeckPage // necks that are called back, the first of them
	Held    batch.NeckPage // necks that an outgoing audit holds, the first of them
	Parked  []ParkedNeck   // of all batches
}

// ParkedNeck waits while it settles.
type ParkedNeck struct {
	Serial      string
	BatchNumber string
	Attempt     int
	Since       time.Time
	Reason      string
	Taken       int // points taken, or noted as not to be measured
	Of          int
}

// mostWaiting necks of a kind are named; their number is said whatever it is.
const mostWaiting = 6

// ReadNecks reads which necks are called back and held, of a batch, or of all with "".
func (w *Waiting) ReadNecks(ctx context.Context, rec interface {
	NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error)
}, batchID string) error {
	var err error
	if w.InDoubt, err = rec.NeckPage(ctx, batch.NeckFilter{BatchID: batchID, InDoubt: true, Limit: mostWaiting}); err != nil {
		return err
	}
	w.Held, err = rec.NeckPage(ctx, batch.NeckFilter{BatchID: batchID, Held: true, Limit: mostWaiting})
	return err
}

// listWaiting reads which necks of the batch on the bench wait to be inspected again.
func (b *Bench) listWaiting(ctx context.Context) error {
	if b.counts.InDoubt+b.counts.Held == 0 {
		b.waits.InDoubt, b.waits.Held = batch.NeckPage{}, batch.NeckPage{}
		return nil
	}
	return b.waits.ReadNecks(ctx, b.shop, b.batch.ID)
}

// waiting is what waits as the page shows it.
func (b *Bench) waiting(gauges []GaugeLine) Waiting {
	w := b.waits
	for _, g := range gauges {
		if g.Locked {
			w.Locked = append(w.Locked, g)
		}
	}
	return w
}

// listParked reads which necks wait.
func (b *Bench) listParked(ctx context.Context) error {
	open, err := b.inspections.OpenInspections(ctx)
	if err != nil {
		return err
	}
	b.waits.Parked = nil
	for _, in := range open {
		if n := b.neck(); n != nil && n.Inspection.ID == in.ID {
			continue
		}
		readings, err := b.inspections.Readings(ctx, in.ID)
		if err != nil {
			return err
		}
		bt, err := b.shop.Batch(ctx, in.BatchNumber)
		if err != nil {
			return err
		}
		carried, err := b.inspections.CarriedOver(ctx, in.ID)
		if err != nil {
			return err
		}
		a := routine.Attempt{Spec: bt.Spec.Spec.WithDefaults(), Inspection: in, Readings: readings}
		if a.Rod.Steps, err = b.inspections.RodSteps(ctx, in.NeckID, in.Attempt); err != nil {
			return err
		}
		if _, err = b.readTurns(ctx, &a); err != nil {
			return err
		}
		a.Carry(routine.Points(bt.Spec.Spec, b.gauges), carried)
		a.LayDown(b.now(), batch.Interruption{})
		p, _ := a.Replay() // readings that cannot be judged are told when the neck is taken up; what is asked for stands
		b.waits.Parked = append(b.waits.Parked, ParkedNeck{
			Serial: in.Serial, BatchNumber: in.BatchNumber, Attempt: in.Attempt, Since: in.StateAt, Reason: in.StateReason,
			Taken: p.Done(), Of: p.Of(),
		})
	}
	return nil
}
