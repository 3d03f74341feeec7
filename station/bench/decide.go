package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Decide records a person's disposition with its reason; a concession, and any word against what was computed, needs one.
func (b *Bench) Decide(ctx context.Context, d inspect.Disposition, by, reason string) error {
	return b.does(toDecide, func() error {
		n := b.neck()
		switch {
		case n.verdict == nil:
			return b.notHere(toDecide, b.base())
		case len(n.rework) > 0:
			return batch.Conflict.Errorf("rework is recorded on %s since this verdict: inspect it again (F6) before anybody decides", n.Inspection.Serial)
		}
		p, err := b.person(ctx, by)
		if err != nil {
			return err
		}
		if reason, err = b.reasonOf(ctx, reason); err != nil {
			return err
		}
		if err := n.mayBecome(d, p); err != nil {
			return err
		}
		v, err := b.inspections.AppendVerdict(ctx, batch.Verdict{
			InspectionID: n.Inspection.ID, Result: n.Result, Disposition: d, DecidedBy: p.Name, Reason: reason,
		})
		if err != nil {
			return err
		}
		b.concluded(n, v)
		b.say(false, fmt.Sprintf("%s: %s, decided by %s.", n.Inspection.Serial, d, p.Name))
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
func (n *neck) mayBecome(d inspect.Disposition, p batch.Person) error {
	switch d {
	case inspect.Pass:
		if !n.Result.Conforms && n.Result.Disposition != inspect.Remeasure {
			return batch.Mendable.Errorf("%s does not conform: releasing it is a concession, not a pass", n.Inspection.Serial)
		}
	case inspect.Concession:
		if p.Role != batch.QualityManager {
			return batch.Mendable.Errorf("a concession is granted by a quality manager; %s is entered as %s", p.Name, p.Role)
		}
	case inspect.Rework, inspect.Repair, inspect.Scrap:
	default:
		return batch.Mendable.Errorf("%q is no disposition; allowed are pass, rework, repair, scrap and concession", d)
	}
	return nil
}

// RecordRework notes what was done to the neck whose verdict is on the bench.
func (b *Bench) RecordRework(ctx context.Context, a batch.ReworkAction) error {
	return b.does(toRework, func() error {
		n := b.neck()
		if err := checkRework(a); err != nil {
			return err
		}
		a.NeckID, a.InspectionID = n.Inspection.NeckID, n.Inspection.ID
		if a.By == "" {
			a.By = b.inspector
		}
		if a.What == inspect.StepRod {
			a.ReliefBefore, a.ReliefBeforeU = inspect.MeanRelief(n.Result)
			a.PredictedMM = predicted(n.Result.Advice, a.What)
		}
		done, err := b.inspections.AppendRework(ctx, a)
		if err != nil {
			return err
		}
		n.rework = append(n.rework, done)
		if b.reworked != nil {
			if err := b.reworked(n.Inspection.Serial, done, n.Result.Advice); err != nil {
				return fmt.Errorf("%s is recorded, but: %w", tell.ReworkStep(done, unit.Millimetre), err)
			}
		}
		b.say(false, "Recorded: "+tell.ReworkStep(done, unit.Millimetre)+". Inspect the neck again when it has settled (F6).")
		return nil
	})
}

// predicted is the relief that the advice expects of a step, nil where it says nothing about it.
func predicted(advice []inspect.Advice, what string) *float64 {
	var mm *float64
	for _, step := range advice {
		if step.What == what {
			mm = step.PredictedReliefMM
		}
	}
	return mm
}

// checkRework refuses what cannot have been done, or must not be.
func checkRework(a batch.ReworkAction) error {
	switch {
	case a.What == inspect.StepRod:
		if !(a.Turns > 0 && a.Turns <= 0.25) {
			return batch.Mendable.Errorf("truss rod, %g turn: a step is more than 0 and at most 1/4 turn; measure again between steps", a.Turns)
		}
		if a.Direction != "tighten" && a.Direction != "loosen" {
			return batch.Mendable.Errorf("truss rod, direction %q: allowed are tighten and loosen", a.Direction)
		}
	case !slices.Contains(inspect.Steps(), a.What):
		return batch.Mendable.Errorf("%q is no kind of rework step; allowed are %s", a.What, strings.Join(inspect.Steps(), ", "))
	case a.Turns != 0:
		return batch.Mendable.Errorf("%s takes no turns", a.What)
	}
	if a.AmountMM != a.AmountMM || a.AmountMM < -5 || a.AmountMM > 5 {
		return batch.Mendable.Errorf("%s by %g mm: allowed is from -5 to 5 mm", a.What, a.AmountMM)
	}
	return nil
}
