package record_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/sampling"
	"sagitta/inspect"
)

// draw tries to draw from the shop's batch, tightened.
func draw(t *testing.T, s *recordtest.Shop) (batch.OutgoingAudit, error) {
	t.Helper()
	return s.DrawOutgoing(t.Context(), batch.OutgoingAudit{By: recordtest.Manager, BatchID: s.Batch.ID, AQL: 10, Level: "II", Severity: sampling.Tightened})
}

// A rejected lot is not drawn from again at once, nor when a part of it was inspected again; once all of it was, or a quality
// manager stated what was done, it is, and is marked as shown again.
func TestRejectedLotIsNotRedrawn(t *testing.T) {
	for state, want := range map[recordtest.State]string{
		recordtest.Rejected:  "0 of the 10 necks left of it were inspected again since; inspect the others again, or a quality manager states what was done",
		recordtest.HalfAgain: "5 of the 10 necks left of it were inspected again since",
		recordtest.AllAgain:  "",
		recordtest.Stated:    "",
	} {
		s := recordtest.In(t, state)
		a, err := draw(t, s)
		switch {
		case want == "" && (err != nil || !a.Again || a.State != batch.OutgoingOpen):
			t.Errorf("%s: %+v, %v", state, a, err)
		case want != "" && (batch.KindOf(err) != batch.Conflict || !strings.Contains(err.Error(), want)):
			t.Errorf("%s: %v, want %q", state, err, want)
		}
		if c := recordtest.Must(s.Counts(t.Context(), s.Batch.ID))(t); c.MayShip() != 0 {
			t.Errorf("%s: %d may ship", state, c.MayShip())
		}
		if err := s.VerifyAudit(t.Context()); err != nil {
			t.Error(err)
		}
	}
}

// What counts as inspected again is a judgement of an inspection that had not judged the neck before the rejection: no other
// word on the old inspection, none that measures again, none that was opened again.
func TestInspectedAgain(t *testing.T) {
	s := recordtest.In(t, recordtest.Rejected)
	ctx := t.Context()
	again := func(want int, what string) {
		t.Helper()
		c := recordtest.Must(s.Counts(ctx, s.Batch.ID))(t)
		left := recordtest.Must(s.LeftOfLot(ctx, s.Batch.ID))(t)
		if c.Left != 10 || c.LeftAgain != want || len(left) != 10-want || !slices.IsSorted(left) {
			t.Errorf("%s: %d of %d inspected again, left are %v; want %d of 10", what, c.LeftAgain, c.Left, left, want)
		}
	}
	again(0, "rejected")
	serial := recordtest.Serials(1)[0]
	old := recordtest.Must(s.Inspections(ctx, recordtest.Must(s.Neck(ctx, serial))(t).ID))(t)[0]
	recordtest.Must(s.AppendVerdict(ctx, batch.Verdict{InspectionID: old.ID, Result: recordtest.Result(serial, inspect.Rework, 0.4), Disposition: inspect.Concession, DecidedBy: recordtest.Manager, Reason: "as it is"}))(t)
	again(0, "a concession on the inspection of before")
	in := s.Start(serial)
	again(0, "begun")
	s.Verdict(in, inspect.Remeasure, 0.3)
	again(0, "undecided")
	s.Verdict(in, inspect.Rework, 0.4)
	again(1, "to be reworked")
	if err := s.SetInspectionState(ctx, recordtest.Manager, in.ID, batch.Open, "measured on the wrong neck"); err != nil {
		t.Fatal(err)
	}
	again(0, "opened again")
	s.Verdict(in, inspect.Pass, 0.3)
	again(1, "judged again")
	s.Pass(serial)
	again(1, "and a third time")
}

// A quality manager, by name and role, states once what was done with a lot that stands rejected.
func TestReleaseLot(t *testing.T) {
	s := recordtest.In(t, recordtest.Rejected)
	ctx := t.Context()
	audit := recordtest.Must(s.Counts(ctx, s.Batch.ID))(t).Audit.ID
	for _, c := range []struct {
		by, audit, done string
		kind            error
		words           string
	}{
		{recordtest.Manager, audit, " ", record.ErrInput, "what was done is missing"},
		{"", audit, "sorted", record.ErrInput, "nobody is named"},
		{recordtest.Inspector, audit, "sorted", record.ErrMayNot, "Ossian Reed is entered as inspector, who may not sign an outgoing audit; this takes a quality manager"},
		{"Somebody Else", audit, "sorted", record.ErrInput, "Somebody Else is not entered, so may not sign an outgoing audit; this takes a quality manager"},
		{recordtest.Manager, "nothing", "sorted", record.ErrUnknown, "nothing"},
	} {
		if _, err := s.ReleaseLot(ctx, c.by, c.audit, c.done); !errors.Is(err, c.kind) || !strings.Contains(err.Error(), c.words) {
			t.Errorf("%q by %q: %v, want %q", c.done, c.by, err, c.words)
		}
	}
	if c := recordtest.Must(s.Counts(ctx, s.Batch.ID))(t); c.MayDraw() || c.Audit.Release != nil {
		t.Fatalf("refused, and yet %+v", c.Audit.Release)
	}
	a := recordtest.Must(s.ReleaseLot(ctx, recordtest.Manager, audit, " sorted by hand "))(t)
	if r := a.Release; r == nil || r.By != recordtest.Manager || r.Done != "sorted by hand" || r.At.IsZero() || a.State != batch.OutgoingRejected {
		t.Errorf("%+v, %+v", a, a.Release)
	}
	if _, err := s.ReleaseLot(ctx, recordtest.Manager, audit, "twice"); !errors.Is(err, record.ErrState) || !strings.Contains(err.Error(), "Mara Quill stated it on 2026-11-02") {
		t.Errorf("twice: %v", err)
	}
	if e := recordtest.Must(s.Audit(ctx, 1))(t)[0]; e.What != "rejected lot released for another draw" || e.Detail != "sorted by hand" {
		t.Errorf("the trail ends with %+v", e)
	}
	second := recordtest.Must(draw(t, s))(t)
	if _, err := s.ReleaseLot(ctx, recordtest.Manager, audit, "late"); !errors.Is(err, record.ErrState) {
		t.Errorf("drawn again: %v", err)
	}
	s.Sign(second, 3) // rejected again: what was stated of the first rejection does not speak for the second
	if _, err := draw(t, s); batch.KindOf(err) != batch.Conflict {
		t.Errorf("rejected twice and drawn a third time: %v", err)
	}
	recordtest.Must(s.ReleaseLot(ctx, recordtest.Manager, second.ID, "every nut cut anew"))(t)
	third := recordtest.Must(draw(t, s))(t)
	recordtest.Must(s.GiveUpOutgoing(ctx, recordtest.Manager, third.ID, "the wrong level"))(t)
	s.Sign(recordtest.Must(draw(t, s))(t), 0)
	if c := recordtest.Must(s.Counts(ctx, s.Batch.ID))(t); c.Lot() != batch.OutgoingAccepted || c.MayShip() == 0 || c.MayShip() != c.Ready() || c.Left != 0 {
		t.Errorf("accepted at last: %+v", c)
	}
	if err := s.VerifyAudit(ctx); err != nil {
		t.Error(err)
	}
}

// The switching rules go on over rejected lots (MIL-STD-105E 4.7): a lot shown again is inspected at the severity that they ask
// for, reduced never, and its result does not count; two of five lots rejected make the next one tightened.
func TestSwitchingOverRejectedLots(t *testing.T) {
	s := recordtest.In(t, recordtest.Stated)
	ctx := t.Context()
	at := func(severity sampling.Severity) (batch.OutgoingAudit, error) {
		return s.DrawOutgoing(ctx, batch.OutgoingAudit{By: recordtest.Manager, BatchID: s.Batch.ID, AQL: 10, Level: "II", Severity: severity})
	}
	if _, err := at(sampling.Reduced); !errors.Is(err, record.ErrInput) {
		t.Errorf("reduced: %v", err)
	}
	again := recordtest.Must(at(sampling.Normal))(t)
	if again.Proposed != sampling.Normal || !again.Again {
		t.Errorf("%+v", again)
	}
	s.Sign(again, 3) // does not count: one of five is rejected so far
	recordtest.Must(s.ReleaseLot(ctx, recordtest.Manager, again.ID, "every nut cut anew"))(t)
	first := s.Batch
	s.Batch = recordtest.Must(s.OpenBatch(ctx, recordtest.Manager, batch.Batch{Number: "QM-2612", Spec: s.Spec}, []string{"QM-2612-1", "QM-2612-2", "QM-2612-3", "QM-2612-4", "QM-2612-5"}))(t)
	s.Pass("QM-2612-1", "QM-2612-2", "QM-2612-3", "QM-2612-4", "QM-2612-5")
	second := recordtest.Must(at(sampling.Normal))(t)
	if second.Proposed != sampling.Normal || second.Again {
		t.Errorf("%+v", second)
	}
	s.Sign(second, second.Plan.Reject)
	s.Batch = first
	if _, err := at(sampling.Normal); !errors.Is(err, record.ErrInput) || !strings.Contains(err.Error(), "allowed: tightened") {
		t.Errorf("two of five rejected, normal: %v", err)
	}
	if a := recordtest.Must(at(sampling.Tightened))(t); a.Proposed != sampling.Tightened || !a.Again {
		t.Errorf("%+v", a)
	}
}
