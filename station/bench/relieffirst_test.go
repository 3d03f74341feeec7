package bench

import (
	"fmt"
	"slices"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// plantedNeck is a neck that is measured by hand: its relief, what a turn of its rod takes from it, and what the heights of its strings lose with
// the relief, mm.
type plantedNeck struct{ relief, perTurn float64 }

// measured answers everything that is asked for of the neck with leaves and a ruler, until the verdict, and returns the points in order.
func (n *plantedNeck) measured(s *shop) (asked []batch.Point) {
	s.t.Helper()
	for snap := s.bench.Snapshot(); snap.Next >= 0 && snap.Verdict == nil; snap = s.bench.Snapshot() {
		p := snap.Points[snap.Next].Point
		asked = append(asked, p)
		switch p.Kind {
		case batch.PitchDeclared:
			s.ok(s.bench.Take(s.ctx))
		case batch.LeafPasses:
			rung := 0
			for i, r := range snap.Leaves.Rungs {
				if Thickness(r.Passes) <= n.relief {
					rung = i
				}
			}
			s.ok(s.bench.Leaf(s.ctx, rung))
		case batch.NutHeight:
			s.ok(s.bench.Entry(s.ctx, "0.45", "mm"))
		default:
			s.ok(s.bench.Entry(s.ctx, map[int]string{1: "1.8", 2: "1.92", 3: "2.04", 4: "2.16", 5: "2.28", 6: "2.4"}[p.String], "mm"))
		}
	}
	return asked
}

// ofKinds counts points by kind.
func ofKinds(points []batch.Point) map[batch.Kind]int {
	n := map[batch.Kind]int{}
	for _, p := range points {
		n[p.Kind]++
	}
	return n
}

// TestReliefAloneAfterTheRod: after a turn of the rod alone the strings are tuned and relief is asked for, and nothing else while it is out of its limits; the turn
// that is advised is by the planted truth; once relief is right the heights that the rod moved too are asked for, and the neck passes.
func TestReliefAloneAfterTheRod(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge, batch.RulerGauge)
	neck := &plantedNeck{relief: 0.52, perTurn: 0.5} // limits from 0.1 to 0.3 mm
	if n := ofKinds(neck.measured(s)); n[batch.NutHeight] != 6 || n[batch.ActionHeight] != 6 {
		t.Fatalf("a first inspection asks for %v", n)
	}
	turns, heights := 0, 0
	for snap := s.bench.Snapshot(); snap.Verdict.Disposition != inspect.Pass; snap = s.bench.Snapshot() {
		advice := snap.Result.Advice[0]
		if advice.What != inspect.StepRod || advice.Direction != "tighten" || *advice.Turns <= 0 || *advice.Turns > 0.25 {
			t.Fatalf("at %.2f mm of relief the advice is %+v", neck.relief, advice)
		}
		s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: advice.What, Direction: advice.Direction, Turns: *advice.Turns}))
		if text := s.bench.Snapshot().Notice.Text; text != fmt.Sprintf("Recorded: truss rod, tighten %s. Tune to pitch again; then relief is asked for, and the strings once it is right (F6).", inspect.TurnsWords(*advice.Turns)) {
			t.Errorf("after the turn: %q", text)
		}
		neck.relief -= neck.perTurn * *advice.Turns
		if turns++; turns > 6 {
			t.Fatalf("%d turns, relief %.2f mm", turns, neck.relief)
		}
		s.ok(s.bench.Again(s.ctx))
		begun := s.bench.Snapshot()
		if !begun.AfterRod || begun.Of != 5 || begun.Points[begun.Next].Point.Kind != batch.PitchDeclared {
			t.Errorf("after turn %d of %d points %s is asked for", turns, begun.Of, begun.Points[begun.Next].Words)
		}
		if !slices.Equal(begun.Following, []int{6, 5, 4, 3, 2, 1}) {
			t.Errorf("after turn %d the strings %v are said to follow", turns, begun.Following)
		}
		if turns == 1 { // put aside it counts as it is asked for
			serial := begun.Serial
			s.ok(s.bench.Park(s.ctx, "tuning"))
			if parked := s.bench.Snapshot().Waiting.Parked; len(parked) != 1 || parked[0].Of != 5 {
				t.Errorf("parked: %+v", parked)
			}
			s.ok(s.bench.Entry(s.ctx, serial, "mm"))
		}
		n := ofKinds(neck.measured(s))
		heights = n[batch.NutHeight] + n[batch.ActionHeight]
		if right := s.bench.Snapshot().Verdict.Disposition == inspect.Pass; n[batch.PitchDeclared] != 1 || n[batch.LeafPasses] < 2 || (heights == 0) == right {
			t.Errorf("after turn %d relief is %.3f mm and %v were asked for", turns, neck.relief, n)
		}
	}
	if turns < 2 || heights != 12 || neck.relief > 0.3 || neck.relief < 0.1 {
		t.Errorf("%d turns, %d heights at the end, relief %.3f mm", turns, heights, neck.relief)
	}
}

// TestNoHeightsHiddenWithoutTheRod: after other work, and after the rod together with other work, everything that may have changed is asked for.
func TestNoHeightsHiddenWithoutTheRod(t *testing.T) {
	s := readByEyeOnly(t, "leaves", batch.LeavesGauge, batch.RulerGauge)
	neck := &plantedNeck{relief: 0.52}
	neck.measured(s)
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepRod, Direction: "tighten", Turns: 0.125}))
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepAction, String: 6, AmountMM: 0.1}))
	s.ok(s.bench.Again(s.ctx))
	if snap := s.bench.Snapshot(); snap.AfterRod || snap.Of != 17 {
		t.Errorf("after the rod and a saddle %d points are asked for", snap.Of)
	}
}
