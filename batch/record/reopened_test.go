package record

import (
	"reflect"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// An inspection that is opened again has no verdict until its next: the neck's status, the batch's counts and its report
// say so, also when it is parked or given up then.
func TestReopenedVerdictDoesNotCount(t *testing.T) {
	s := newShop(t, serials(2)...)
	s.verdict(s.start("QM-2611-0002"), inspect.Rework, 0.5, 0.3)
	in := s.start("QM-2611-0001")
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	look := func(when string, state batch.InspectionState, d inspect.Disposition, want batch.Counts) {
		t.Helper()
		row := must(s.Necks(s.ctx, s.batch.ID))(t)[0]
		if row.State != state || row.Disposition != d || row.FirstPass != (d == inspect.Pass) {
			t.Errorf("%s: the neck is %+v", when, row)
		}
		want.Planned, want.Registered, want.Rework = 30, 2, 1
		want.Reasons = []batch.Reason{{Name: "relief", Necks: 1}}
		if got := must(s.Counts(s.ctx, s.batch.ID))(t); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: counts %+v, want %+v", when, got, want)
		}
		passed := 0
		for _, x := range must(s.Breakdown(s.ctx, batch.Scope{BatchID: s.batch.ID}, batch.ByAll))(t) {
			passed += x.FirstPass
		}
		if passed != want.FirstPass {
			t.Errorf("%s: %d passed first, want %d", when, passed, want.FirstPass)
		}
		for n, err := range s.EachNeck(s.ctx, s.batch.ID) {
			s.ok(err)
			if v := n.Inspections[0].Verdict; n.Serial == "QM-2611-0001" && (v != nil) != (d != "") {
				t.Errorf("%s: the report has verdict %+v", when, v)
			}
		}
	}
	none := batch.Counts{Inspected: 1, Inspections: 1}
	passed := batch.Counts{Inspected: 2, Inspections: 2, FirstPass: 1, Passed: 1}
	working := none
	working.InProgress = 1
	look("concluded", batch.Finished, inspect.Pass, passed)
	s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Open, "last reading taken back"))
	look("opened again", batch.Open, "", working)
	s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Parked, "waits"))
	look("parked", batch.Parked, "", working)
	s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Open, ""))
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	look("concluded anew", batch.Finished, inspect.Pass, passed)
	s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Open, "last reading taken back"))
	s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Abandoned, "wrong neck"))
	look("given up", batch.Abandoned, "", none)
	s.ok(s.VerifyAudit(s.ctx))
}

// What was found at an attempt that was opened again and given up neither ends a doubt nor is the outcome of rework.
func TestGivenUpAttemptProvesNothing(t *testing.T) {
	s := newShop(t, serials(2)...)
	g := s.carriage()
	s.check(g.ID, true)
	first := s.pass(g.ID, "QM-2611-0001")
	s.check(g.ID, false)
	standing := func(when string, want int) {
		t.Helper()
		doubts := must(s.Doubts(s.ctx, batch.DoubtFilter{NeckID: first.NeckID}))(t)
		if c := must(s.Counts(s.ctx, s.batch.ID))(t); c.InDoubt != want || c.MayShip() != 0 || len(doubts) != 1 || (doubts[0].Cleared == "") != (want == 1) {
			t.Errorf("%s: counts %+v, doubts %+v", when, c, doubts)
		}
	}
	standing("after the failed check", 1)
	second := s.start("QM-2611-0001")
	s.verdict(second, inspect.Rework, 0.5, 0.5)
	standing("inspected again", 0)
	s.ok(s.SetInspectionState(s.ctx, "x", second.ID, batch.Open, "last reading taken back"))
	standing("opened again", 1)
	s.ok(s.SetInspectionState(s.ctx, "x", second.ID, batch.Abandoned, "wrong neck"))
	standing("given up", 1)

	relief := func(serial string, mm float64) batch.Inspection {
		in := s.start(serial)
		s.verdict(in, inspect.Rework, mm, mm)
		return in
	}
	before := relief("QM-2611-0002", 0.5)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: before.NeckID, InspectionID: before.ID, By: "Ossian Reed", What: "truss rod", Turns: 0.25, Direction: "tighten"}))(t)
	wrong := relief("QM-2611-0002", 0.1)
	s.ok(s.SetInspectionState(s.ctx, "x", wrong.ID, batch.Open, "last reading taken back"))
	s.ok(s.SetInspectionState(s.ctx, "x", wrong.ID, batch.Abandoned, "wrong neck"))
	relief("QM-2611-0002", 0.4)
	if steps := must(s.RodSteps(s.ctx, before.NeckID, 9))(t); len(steps) != 1 || steps[0].ReliefAfterMM != 0.4 {
		t.Errorf("the rod learns from %+v", steps)
	}
	if all := must(s.ReworkOutcomes(s.ctx, s.batch.ID, 0))(t); len(all) != 1 || all[0].After == nil || *all[0].After != 0.4 {
		t.Errorf("outcomes %+v", all)
	}
}

// A reading is taken back and its finished inspection opened in one commit: where the row is refused, the verdict stands.
func TestTakenBackWhole(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	r := must(s.AppendReading(s.ctx, crown(in, 1, 0.125)))(t)
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	back := batch.Reading{InspectionID: in.ID, Point: r.Point, Round: r.Round, By: "Ossian Reed", Withdrawn: true, Supersedes: r.ID, Reason: "taken back"}
	bad := back
	bad.Supersedes = "no such reading"
	_, err := s.TakeBack(s.ctx, "Ossian Reed", in.ID, []batch.Reading{back, bad})
	wantErr(t, err, ErrInput, "no such reading")
	if got := must(s.Inspection(s.ctx, in.ID))(t); got.State != batch.Finished {
		t.Errorf("a row was refused, and the inspection is %s", got.State)
	}
	if got := must(s.Readings(s.ctx, in.ID))(t); len(got) != 1 {
		t.Errorf("a row was refused, and %d readings are kept", len(got))
	}
	kept := must(s.TakeBack(s.ctx, "Ossian Reed", in.ID, []batch.Reading{back}))(t)
	if got := must(s.Inspection(s.ctx, in.ID))(t); got.State != batch.Open || len(kept) != 1 || kept[0].Seq != 2 {
		t.Errorf("taken back: the inspection is %s, the row %+v", got.State, kept)
	}
	_, err = s.TakeBack(s.ctx, "Ossian Reed", "no such inspection", nil)
	wantErr(t, err, ErrUnknown, "no such inspection")
	s.ok(s.VerifyAudit(s.ctx))
}
