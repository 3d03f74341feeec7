package bench

import (
	"context"
	"fmt"
	"strings"

	"sagitta/batch"
)

// Park sets the neck aside while it settles.
func (b *Bench) Park(ctx context.Context, reason string) error {
	return b.does(ctx, toPark, func() error {
		n := b.neck()
		if reason = strings.TrimSpace(reason); reason == "" {
			reason = "settling"
		}
		if err := b.inspections.SetInspectionState(ctx, b.inspector, n.Inspection.ID, batch.Parked, reason); err != nil {
			return err
		}
		b.say(false, n.Inspection.Serial+" is parked. Its serial number brings it back.")
		b.remember(n)
		b.become(idle{})
		return b.refreshShop(ctx)
	})
}

// Abandon gives up the inspection on the bench, with a reason. Its readings stay
// in the record; the neck's next inspection is another attempt.
func (b *Bench) Abandon(ctx context.Context, reason string) error {
	return b.does(ctx, toGiveUp, func() error {
		n := b.neck()
		if reason = strings.TrimSpace(reason); reason == "" {
			return batch.Mendable.Errorf("giving %s up needs its reason in words", b.words.Say("an inspection"))
		}
		if err := b.inspections.SetInspectionState(ctx, b.inspector, n.Inspection.ID, batch.Abandoned, reason); err != nil {
			return err
		}
		b.say(false, fmt.Sprintf("%s, attempt %d, is given up. Its readings stay in the record.", n.Inspection.Serial, n.Inspection.Attempt))
		b.become(idle{})
		return b.refreshShop(ctx)
	})
}

// Clear ends with the neck on the bench; the next serial number may come. Refused while it is being measured.
func (b *Bench) Clear(ctx context.Context) error {
	return b.does(ctx, toClear, func() error {
		if s, asked := b.base().(scannedAgain); asked {
			return s.answer(ctx, b, false)
		}
		if n := b.neck(); n != nil {
			return b.clear(ctx, n)
		}
		return nil
	})
}

func (b *Bench) clear(ctx context.Context, n *neck) error {
	b.remember(n)
	b.notice = nil
	b.become(idle{})
	return b.listParked(ctx)
}
