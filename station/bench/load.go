package bench

import (
	"context"
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// load reads an inspection from the record and puts it on the bench, where it was; by is what came between.
func (b *Bench) load(ctx context.Context, in batch.Inspection, by batch.Interruption) (*neck, error) {
	bt := b.batch
	if bt == nil || bt.ID != in.BatchID {
		found, err := b.shop.Batch(ctx, in.BatchNumber)
		if err != nil {
			return nil, err
		}
		bt = &found
	}
	n, err := b.read(ctx, bt, in, func(n *neck) { n.LayDown(b.now(), by) })
	if err != nil {
		return nil, err
	}
	if before := b.neck(); before != nil && before.Inspection.NeckID != in.NeckID {
		b.remember(before)
	}
	b.batch, b.studied = bt, ""
	if err := b.put(ctx, n); err != nil || by.Changed == "" {
		return n, err
	}
	n.Inspection.Climate = b.climate // that it is in from now on
	return n, b.inspections.SetClimate(ctx, b.inspector, in.ID, b.climate)
}

// reload reads the neck on the bench from the record again.
func (b *Bench) reload(ctx context.Context) error {
	before := b.neck()
	if before == nil {
		return nil
	}
	n, err := b.read(ctx, b.batch, before.Inspection, func(n *neck) {
		n.Laying, n.LaidAt, n.EndedBy, n.Chosen = before.Laying, before.LaidAt, before.EndedBy, before.Chosen
	})
	if err != nil {
		return err
	}
	n.swept = before.swept
	return b.put(ctx, n)
}

// put puts a neck that was read from the record on the bench. What was complete is concluded.
func (b *Bench) put(ctx context.Context, n *neck) error {
	b.renew(n)
	if n.End != nil && n.Chosen == "" {
		if err := b.advance(ctx, n); err != nil {
			return err
		}
	}
	if n.verdict == nil && n.Next < 0 && len(n.Readings) > 0 {
		return b.conclude(ctx, n)
	}
	return nil
}

// read reads an inspection from the record; lay says how it lies.
func (b *Bench) read(ctx context.Context, bt *batch.Batch, in batch.Inspection, lay func(*neck)) (*neck, error) {
	n := &neck{Attempt: routine.Attempt{Spec: bt.Spec.Spec.WithDefaults(), Inspection: in}}
	var err error
	if n.Readings, err = b.inspections.Readings(ctx, in.ID); err != nil {
		return nil, err
	}
	if n.verdict, err = b.inspections.LatestVerdict(ctx, in.ID); err != nil {
		return nil, err
	}
	if overtaken(n) {
		n.verdict = nil
	}
	if err := b.readCarried(ctx, n); err != nil {
		return nil, err
	}
	if err := b.readRod(ctx, n, bt.Spec.Name); err != nil {
		return nil, err
	}
	if err := b.readDoubt(ctx, n); err != nil {
		return nil, err
	}
	lay(n)
	return n, n.replay()
}

// overtaken says that an inspection has gone on since its verdict: readings came, or were taken back, after it; or it was opened
// again to take a reading back, which then did not happen. It is concluded anew.
func overtaken(n *neck) bool {
	if n.verdict == nil {
		return false
	}
	if k := len(n.Readings); k > 0 && n.Readings[k-1].Seq > n.verdict.LastSeq {
		return true
	}
	return !n.Inspection.Counts(n.verdict.Disposition)
}

// readRod reads what is known of the neck's truss rod.
func (b *Bench) readRod(ctx context.Context, n *neck, specName string) error {
	in := n.Inspection
	steps, err := b.inspections.RodSteps(ctx, in.NeckID, in.Attempt)
	if err != nil {
		return err
	}
	pairs, err := b.inspections.RodModel(ctx, specName, in.NeckID)
	if err != nil {
		return err
	}
	n.Rod.Steps, n.Rod.Model = steps, inspect.LearnRod(n.Spec, pairs)
	if n.rework, err = b.readTurns(ctx, &n.Attempt); err != nil {
		return err
	}
	if len(n.Readings) > 0 && n.verdict == nil {
		n.rework = nil
	}
	return nil
}

// readTurns reads what an attempt has to know of the turns of its neck's rod, and the rework recorded since the verdict, see workSince.
func (b *Bench) readTurns(ctx context.Context, a *routine.Attempt) (since []batch.ReworkAction, err error) {
	in := a.Inspection
	attempts, err := b.inspections.Inspections(ctx, in.NeckID)
	if err != nil {
		return nil, err
	}
	done, err := b.inspections.Rework(ctx, in.NeckID)
	if err != nil {
		return nil, err
	}
	a.Rod.Turn, a.Rod.Again, a.Rod.Turned = routine.Turns(in, attempts, done)
	before := routine.JudgedBefore(in, attempts)
	a.Rod.Alone = batch.SumRodWork(slices.DeleteFunc(slices.Clone(done), func(w batch.ReworkAction) bool { return w.InspectionID != before })).Alone
	return workSince(in, attempts, done), nil
}

// workSince are the rework steps recorded against an inspection's verdict; while it has none, against the verdict before it.
func workSince(in batch.Inspection, attempts []batch.Inspection, done []batch.ReworkAction) []batch.ReworkAction {
	against := in.ID
	if in.State != batch.Finished {
		against = routine.JudgedBefore(in, attempts)
	}
	return slices.DeleteFunc(slices.Clone(done), func(a batch.ReworkAction) bool { return a.InspectionID != against })
}

// readDoubt reads which of the neck's readings are in doubt. A verdict that only asks for another measurement gives way:
// the points in doubt are measured again first.
func (b *Bench) readDoubt(ctx context.Context, n *neck) error {
	ids, err := b.inspections.DoubtedReadings(ctx, n.Inspection.ID)
	if err != nil {
		return err
	}
	n.Doubted, n.doubts = map[string]bool{}, nil
	if len(ids) > 0 || len(n.Carried) > 0 {
		all, err := b.inspections.Doubts(ctx, batch.DoubtFilter{NeckID: n.Inspection.NeckID, Standing: true})
		if err != nil {
			return err
		}
		n.doubts = slices.DeleteFunc(all, func(d batch.Doubt) bool {
			return d.InspectionID != n.Inspection.ID && d.CarriedInto != n.Inspection.Attempt
		})
	}
	for _, id := range ids {
		n.Doubted[id] = true
	}
	if len(ids) > 0 && n.verdict != nil && n.verdict.Disposition == inspect.Remeasure {
		n.verdict = nil
	}
	return nil
}

// ReloadDoubt takes up what a person has cleared of doubt, or found in an outgoing audit.
func (b *Bench) ReloadDoubt(ctx context.Context) error {
	return b.do(ctx, func() error { return b.reloadDoubt(ctx) })
}

// reloadDoubt takes up what a failed check has put in doubt: in the batch's counts and on the bench.
func (b *Bench) reloadDoubt(ctx context.Context) error {
	n := b.neck()
	if err := b.recount(ctx); err != nil || n == nil {
		return err
	}
	if err := b.readDoubt(ctx, n); err != nil {
		return err
	}
	if err := b.readCarried(ctx, n); err != nil {
		return err
	}
	err := n.replay()
	if b.base().kind() == isQuestioned { // its gauge may be the one that failed
		b.settle(n)
	}
	b.renew(n)
	return err
}
