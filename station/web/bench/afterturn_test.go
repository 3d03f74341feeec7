package bench

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
)

// TestAfterTurnSaysWhatComes: at the start after a turn of the rod it is said which strings follow and why, and where none do, not.
func TestAfterTurnSaysWhatComes(t *testing.T) {
	at := func(k batch.Kind) []routine.Point { return []routine.Point{{Point: batch.Point{Kind: k}}} }
	for _, c := range []struct {
		snap bench.Snapshot
		want string
	}{
		{bench.Snapshot{AfterRod: true, Points: at(batch.PitchDeclared), Following: []int{6, 1}}, "The rod was turned: relief first. Once it is right, strings 6 and 1 again, for the rod moved them too."},
		{bench.Snapshot{AfterRod: true, Points: at(batch.Pitch), Following: []int{6, 5, 4, 3, 2, 1}}, "The rod was turned: relief first. Once it is right, strings 6 to 1 again, for the rod moved them too."},
		{bench.Snapshot{AfterRod: true, Points: at(batch.LeafPasses), Following: []int{6, 1}}, "Relief first, then strings 6 and 1."},
		{bench.Snapshot{AfterRod: true, Points: at(batch.LeafPasses)}, "The rod was turned: only relief is asked for now."},
		{bench.Snapshot{AfterRod: true, Points: at(batch.ActionHeight)}, "Relief is right. The rod moved the strings too: once more."},
		{bench.Snapshot{Points: at(batch.LeafPasses)}, ""},
	} {
		if got := afterTurn(&c.snap); got != c.want {
			t.Errorf("it says %q, want %q", got, c.want)
		}
	}
	v := benchView{Snapshot: &bench.Snapshot{Of: 5, Next: -1, Following: []int{6, 1}}}
	if v.live(); v.Progress+v.ProgressOf != "0 of 5 points, then the strings" {
		t.Errorf("the counter says %q", v.Progress+v.ProgressOf)
	}
	v = benchView{Snapshot: &bench.Snapshot{Rework: []batch.ReworkAction{{What: inspect.StepRod, Direction: "tighten", Turns: 0.125}}}, Spec: (&inspect.Spec{Routine: &inspect.Routine{Profile: "leaves", Strings: inspect.StringList{Numbers: []int{}}}}).WithDefaults()}
	if said := v.ReliefNext(); said != "relief alone is asked for" {
		t.Errorf("without strings %q", said)
	}
}
