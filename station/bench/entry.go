package bench

import (
	"context"
	"errors"
	"fmt"

	"sagitta/batch"
	"sagitta/station/bench/scan"
)

// Entry takes what was typed or scanned: somebody's badge, a serial number, a batch's number, or a value for the point asked for. A value
// without a unit of its own is in the given unit ("mm" or "in"; cents where pitch is asked for).
func (b *Bench) Entry(ctx context.Context, text, unit string) error {
	return b.do(ctx, func() error {
		s := scan.Of(text)
		if s.Text == "" {
			return nil
		}
		if p, err := b.badgeOf(ctx, s); p != nil || err != nil {
			return b.badged(p, err)
		}
		if err := b.atHand(); err != nil {
			return err
		}
		v, ok := parseValue(s.Text, unit)
		if ok && !s.Marked && !b.looksLikeSerial(s.Text) {
			if done, err := b.readsCheck(ctx, v); done || err != nil {
				return err
			}
		}
		if b.stage() != Measuring || s.Marked || b.looksLikeSerial(s.Text) {
			return b.scan(ctx, s)
		}
		if ok {
			if err := b.refusal(toType); err != nil {
				return fmt.Errorf("%s was typed, but %w", s.Text, err)
			}
			return b.typed(ctx, b.neck(), s.Text, v)
		}
		return b.scan(ctx, s)
	})
}

// looksLikeSerial tells a serial number made of digits alone from a value.
func (b *Bench) looksLikeSerial(text string) bool {
	if b.batch == nil || b.batch.Pattern == "" {
		return false
	}
	re, err := b.batch.SerialPattern()
	return err == nil && re.MatchString(text)
}

// scan brings a neck to the bench, or opens a batch.
func (b *Bench) scan(ctx context.Context, s scan.Scan) error {
	if n := b.neck(); n != nil && s.Is(n.Inspection.Serial) && b.stage() != Decided {
		b.sounds(Accepted)
		b.say(false, n.Inspection.Serial+" is already on the bench.")
		return nil
	}
	neck, found, err := b.onFile(ctx, s)
	if err != nil {
		return err
	}
	if !found {
		if bt, err := b.sheetOf(ctx, s); bt != nil || err != nil {
			return b.openSheet(ctx, bt, err)
		}
		if err := b.misread(s); err != nil {
			return err
		}
		if b.stage() == Measuring && !b.registers(s) {
			return b.meansNothing(s)
		}
	}
	if found {
		if err := b.visits(ctx, neck); err != nil {
			return fmt.Errorf("%q was entered, but %w", s.Text, err)
		}
	}
	if err := b.refusal(toScan); err != nil {
		return fmt.Errorf("%q was entered, but %w", s.Text, err)
	}
	if !found {
		if neck, err = b.register(ctx, s); err != nil {
			return err
		}
	}
	return b.bring(ctx, neck)
}

// visits takes the batch of a neck to the bench where that is the visit of an instrument, which has one of its own, or where one is there now.
func (b *Bench) visits(ctx context.Context, neck batch.Neck) error {
	if b.batch != nil && b.batch.ID == neck.BatchID || neck.Visit == 0 && (b.batch == nil || b.batch.Visit == 0) {
		return nil
	}
	if err := b.refusal(toOpenBatch); err != nil {
		return err
	}
	bt, err := b.shop.Batch(ctx, neck.BatchNumber)
	if err != nil {
		return err
	}
	return b.openBatch(ctx, bt)
}

// bring takes a neck to the bench: its next attempt begins, or the one that is parked or was interrupted goes on. Whether one that needs
// no further inspection is inspected again is asked.
func (b *Bench) bring(ctx context.Context, neck batch.Neck) error {
	if neck.BatchID != b.batch.ID {
		return batch.Conflict.Errorf("%s belongs to batch %s, but batch %s is on the bench: take %s there on its page, or scan its sheet, to inspect it",
			neck.Serial, neck.BatchNumber, b.batch.Number, neck.BatchNumber)
	}
	before, err := b.inspections.Inspections(ctx, neck.ID)
	if err != nil {
		return err
	}
	for _, in := range before {
		if in.State == batch.Open || in.State == batch.Parked {
			return b.unpark(ctx, in)
		}
	}
	asks, err := b.asksAgain(ctx, neck, before)
	if err != nil {
		return err
	}
	if asks != "" {
		b.askAgain(neck, asks)
		return nil
	}
	return b.inspectAgain(ctx, neck, before)
}

// inspectAgain measures what is in doubt of a neck's newest attempt, or begins the next.
func (b *Bench) inspectAgain(ctx context.Context, neck batch.Neck, before []batch.Inspection) error {
	if k := len(before); k > 0 {
		if done, err := b.callBack(ctx, before[k-1]); done || err != nil {
			return err
		}
	}
	return b.start(ctx, neck)
}

// start begins a neck's next attempt.
func (b *Bench) start(ctx context.Context, neck batch.Neck) error {
	before, err := b.inspections.Inspections(ctx, neck.ID)
	if err != nil {
		return err
	}
	handed := ""
	if k := len(before); k > 0 {
		handed = before[k-1].Handed
	}
	in, err := b.inspections.StartInspection(ctx, batch.Inspection{
		NeckID: neck.ID, Inspector: b.inspector, Climate: b.climate, Posture: b.batch.Spec.Spec.WithDefaults().Routine.Posture, Handed: handed,
	})
	if err != nil {
		return err
	}
	if _, err := b.load(ctx, in, batch.Interruption{}); err != nil {
		return err
	}
	b.live.Fresh = false
	b.sounds(Accepted)
	b.say(false, fmt.Sprintf("%s, attempt %d.", in.Serial, in.Attempt)) // what is carried over stands under the point asked for
	return b.refreshShop(ctx)
}

// unpark takes an open or parked inspection to the bench, where it was.
func (b *Bench) unpark(ctx context.Context, in batch.Inspection) error {
	by := b.between(in)
	if in.State == batch.Parked {
		if err := b.inspections.SetInspectionState(ctx, b.inspector, in.ID, batch.Open, "taken up again"); err != nil {
			return err
		}
		in.State = batch.Open
	}
	n, err := b.load(ctx, in, by)
	if err != nil {
		return err
	}
	b.sounds(Accepted)
	b.say(false, n.withSaid(fmt.Sprintf("%s, attempt %d, %s", in.Serial, in.Attempt, n.goesOn())))
	return b.refreshShop(ctx)
}

// refreshShop reads what waits and the batch's counts again.
func (b *Bench) refreshShop(ctx context.Context) error {
	return errors.Join(b.listParked(ctx), b.recount(ctx))
}

// Again begins the next attempt at the neck whose verdict is on the bench, or measures again what of it is in doubt.
func (b *Bench) Again(ctx context.Context) error {
	return b.does(ctx, toInspectAgain, func() error {
		neck, err := b.shop.Neck(ctx, b.neck().Inspection.Serial)
		if err != nil {
			return err
		}
		before, err := b.inspections.Inspections(ctx, neck.ID)
		if err != nil {
			return err
		}
		return b.inspectAgain(ctx, neck, before)
	})
}

// Through says whether a neck needs no further inspection: it passed, was released or scrapped.
func (b *Bench) Through(ctx context.Context, serial string) (bool, error) {
	neck, err := b.shop.Neck(ctx, serial)
	if err != nil {
		return false, err
	}
	all, err := b.inspections.Inspections(ctx, neck.ID)
	if err != nil {
		return false, err
	}
	_, through, err := b.through(ctx, all)
	return through, err
}

// through is the verdict that the newest of a neck's attempts stands under, and whether the neck needs no further inspection by it.
func (b *Bench) through(ctx context.Context, all []batch.Inspection) (v *batch.Verdict, through bool, err error) {
	if len(all) == 0 {
		return nil, false, nil
	}
	last := all[len(all)-1]
	v, err = b.inspections.LatestVerdict(ctx, last.ID)
	if err != nil || v == nil || !last.Counts(v.Disposition) {
		return nil, false, err
	}
	return v, batch.Through(v.Disposition), nil
}
