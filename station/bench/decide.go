package bench

import (
	"context"
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// Decide records a person's disposition with its reason; a concession, and any word against what was computed, needs one.
func (b *Bench) Decide(ctx context.Context, d inspect.Disposition, by, reason string) error {
	return b.does(ctx, toDecide, func() error {
		n := b.neck()
		switch {
		case n.verdict == nil:
			return b.notHere(toDecide, b.base())
		case len(n.rework) > 0:
			return batch.Conflict.Errorf(b.words.Say("rework is recorded on %s since this verdict: inspect it again (F6) before anybody decides"), n.Inspection.Serial)
		}
		p, err := b.person(ctx, by)
		if err != nil {
			return err
		}
		if reason, err = b.reasonOf(ctx, reason); err != nil {
			return err
		}
		if err := n.mayBecome(b.words, d, p); err != nil {
			return err
		}
		v, err := b.inspections.AppendVerdict(ctx, batch.Verdict{
			InspectionID: n.Inspection.ID, Result: n.Result, Disposition: d, DecidedBy: p.Name, Reason: reason,
		})
		if err != nil {
			return err
		}
		b.concluded(n, v)
		b.say(false, fmt.Sprintf("%s: %s, decided by %s.", n.Inspection.Serial, b.words.Say(d), p.Name))
		return b.recount(ctx)
	})
}

// reasonOf is a decision's reason in words.
func (b *Bench) reasonOf(ctx context.Context, reason string) (string, error) {
	reason = strings.TrimSpace(reason)
	if reason == "" {
		return "", batch.Mendable.Errorf("a decision by a person needs its reason in words")
	}
	if _, err := b.shop.Neck(ctx, reason); err == nil {
		return "", batch.Mendable.Errorf("the reason %q is a serial number: a scan went into the wrong field", reason)
	}
	return reason, nil
}

// mayBecome refuses a disposition that a person may not choose.
func (n *neck) mayBecome(w tell.Words, d inspect.Disposition, p batch.Person) error {
	switch d {
	case inspect.Pass:
		if !n.Result.Conforms && n.Result.Disposition != inspect.Remeasure {
			return batch.Mendable.Errorf(w.Say("%s does not conform: releasing it is a concession, not a pass"), n.Inspection.Serial)
		}
	case inspect.Concession:
		if !p.May(batch.Concede) {
			return batch.Mendable.Errorf(w.Say("a concession is granted by a quality manager; %s is entered as %s"), p.Name, w.Role(p.Role))
		}
	case inspect.Rework, inspect.Repair, inspect.Scrap:
	default:
		return batch.Mendable.Errorf(w.Say("%q is no disposition; allowed are pass, rework, repair, scrap and concession"), d)
	}
	return nil
}

// conclude records the verdict on a complete routine.
func (b *Bench) conclude(ctx context.Context, n *neck) error {
	v, err := b.inspections.AppendVerdict(ctx, batch.Verdict{
		InspectionID: n.Inspection.ID, Result: n.Result, Disposition: n.Result.Disposition,
	})
	if err != nil {
		said, err := b.lostCarried(ctx, n, err)
		if err == nil {
			b.say(false, said)
			return nil
		}
		return fmt.Errorf("the routine of %s is complete, but its verdict was NOT recorded: %w. Space tries again", n.Inspection.Serial, err)
	}
	b.concluded(n, v)
	return b.recount(ctx)
}

// concluded puts a verdict that was recorded on the bench.
func (b *Bench) concluded(n *neck, v batch.Verdict) {
	b.sounds(verdictSound(v.Disposition))
	n.verdict, n.Chosen = &v, ""
	if v.Disposition != inspect.Remeasure {
		n.Inspection.State = batch.Finished
	}
	b.settle(n)
}
