package batches

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestOutcomesAreOfWholeSteps: the turns between two verdicts are compared once, with the last's prediction; other work beside them, and
// turns both ways, are not.
func TestOutcomesAreOfWholeSteps(t *testing.T) {
	row := func(id, on, what string, turns float64, way string, predicted float64) batch.ReworkOutcome {
		return batch.ReworkOutcome{Serial: "QM-1", After: new(0.32), ReworkAction: batch.ReworkAction{
			ID: id, InspectionID: on, What: what, Turns: turns, Direction: way, PredictedMM: new(predicted), ReliefBefore: new(0.5)}}
	}
	rod := inspect.StepRod
	v := outcomesOf([]batch.ReworkOutcome{
		row("1", "one", rod, 0.25, "tighten", 0.4), row("2", "one", rod, 0.125, "tighten", 0.35), row("3", "one", inspect.StepPitch, 0, "", 0),
		row("4", "two", rod, 0.25, "tighten", 0.2), row("5", "two", inspect.StepLevel, 0, "", 0),
		row("6", "three", rod, 0.25, "tighten", 0.2), row("7", "three", rod, 0.125, "loosen", 0.3),
	}, unit.Millimetre)
	if len(v.Rows) != 1 || v.Rows[0].Did != "truss rod, tighten 3/8 turn" || v.Rows[0].predicted != 0.35 || v.Rows[0].got != 0.32 {
		t.Errorf("%+v", v.Rows)
	}
}
