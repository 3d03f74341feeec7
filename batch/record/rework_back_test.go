package record

import (
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// A step that was taken back counts nowhere: not in the neck's rework, its rod's history, the outcomes, the story or the sheet. It can
// be taken back once, and until the neck is measured again.
func TestReworkTakenBack(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	s.read(in, 1, 0.4)
	s.verdict(in, inspect.Rework, 0.4, 0.4)
	turn := func(turns float64) batch.ReworkAction {
		return must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "Wren Halloway", What: inspect.StepRod, Turns: turns, Direction: "tighten"}))(t)
	}
	back := func(a batch.ReworkAction) error {
		a.ID, a.Supersedes, a.Withdrawn = "", a.ID, true
		_, err := s.AppendRework(s.ctx, a)
		return err
	}
	first, second := turn(0.125), turn(0.25)
	if err := back(first); err != nil {
		t.Fatal(err)
	}
	wantErr(t, back(first), ErrState, "taken back already")
	if left := must(s.Rework(s.ctx, in.NeckID))(t); len(left) != 1 || left[0].ID != second.ID {
		t.Errorf("left is %+v", left)
	}
	again := s.start("QM-2611-0001")
	s.read(again, 1, 0.3)
	wantErr(t, back(second), ErrState, "measured since")
	s.verdict(again, inspect.Pass, 0.3, 0.3)
	if steps := must(s.RodSteps(s.ctx, in.NeckID, 3))(t); len(steps) != 1 || steps[0].Turns != 0.25 {
		t.Errorf("the rod's steps are %+v", steps)
	}
	if out := must(s.ReworkOutcomes(s.ctx, in.BatchID, 0))(t); len(out) != 1 || out[0].ID != second.ID {
		t.Errorf("the outcomes are %+v", out)
	}
	if story := must(s.NeckStory(s.ctx, "QM-2611-0001"))(t); len(story.Rework) != 1 {
		t.Errorf("the story tells %+v", story.Rework)
	}
	rows := 0
	for row, err := range s.EachRework(s.ctx, in.BatchID) {
		if err != nil || row.ID != second.ID {
			t.Errorf("the sheet has %+v, %v", row, err)
		}
		rows++
	}
	if rows != 1 {
		t.Errorf("the sheet has %d rows", rows)
	}
}
