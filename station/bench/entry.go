package bench

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"sagitta/batch"
)

// Entry takes what was typed or scanned: a serial number, or a value for the point asked for. A value without a unit
// of its own is in the given unit ("mm" or "in"; cents where pitch is asked for).
func (b *Bench) Entry(ctx context.Context, text, unit string) error {
	return b.do(ctx, func() error {
		text = strings.TrimSpace(text)
		if text == "" {
			return nil
		}
		if b.stage() != Measuring || b.looksLikeSerial(text) {
			return b.scan(ctx, text)
		}
		if v, ok := parseValue(text, unit); ok {
			if err := b.refusal(toType); err != nil {
				return fmt.Errorf("%s was typed, but %w", text, err)
			}
			return b.typed(ctx, b.neck(), text, v)
		}
		if _, err := b.shop.Neck(ctx, text); batch.KindOf(err) == batch.Absent {
			return batch.Mendable.Errorf(`%q is neither a value nor a serial number; a value is typed like 0.25, .25, 0,25, 0.010" or 0.5 in, and with its uncertainty like 1.95 ± 0.04`, text)
		}
		return b.scan(ctx, text)
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

// scan brings a neck to the bench: starts its next attempt, or resumes the one that is parked or was interrupted.
func (b *Bench) scan(ctx context.Context, serial string) error {
	if n := b.neck(); n != nil && n.Inspection.Serial == serial && b.stage() != Decided {
		b.say(false, serial+" is already on the bench.")
		return nil
	}
	if err := b.refusal(toScan); err != nil {
		return fmt.Errorf("%q was entered, but %w", serial, err)
	}
	neck, err := b.registered(ctx, serial)
	if err != nil {
		return err
	}
	if neck.BatchID != b.batch.ID {
		return batch.Conflict.Errorf("%s belongs to batch %s, but batch %s is on the bench: take %s there on its page to inspect it",
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

// registered is the neck with a serial number. The batch's pattern lets a neck register itself by coming to the bench.
func (b *Bench) registered(ctx context.Context, serial string) (batch.Neck, error) {
	neck, err := b.shop.Neck(ctx, serial)
	if batch.KindOf(err) != batch.Absent || !b.looksLikeSerial(serial) {
		return neck, err
	}
	added, err := b.shop.AddNecks(ctx, b.inspector, b.batch.ID, []string{serial})
	if err != nil {
		return batch.Neck{}, err
	}
	return added[0], nil
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
	b.say(false, fmt.Sprintf("%s, attempt %d.", in.Serial, in.Attempt))
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
	if err != nil || len(all) == 0 {
		return false, err
	}
	last := all[len(all)-1]
	v, err := b.inspections.LatestVerdict(ctx, last.ID)
	if err != nil || v == nil || !last.Counts(v.Disposition) {
		return false, err
	}
	return batch.Through(v.Disposition), nil
}
