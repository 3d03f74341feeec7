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
