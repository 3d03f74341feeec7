package record_test

import (
	"reflect"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
)

// What ships in every state that a batch can have: the list of batches counts as the batch itself does, and of a lot that is
// being audited, or was rejected, nothing ships.
func TestCountsInEveryState(t *testing.T) {
	for _, c := range []struct {
		state          recordtest.State
		lot            batch.OutgoingState
		ready, mayShip int
		want           batch.Counts // what differs from ten necks, all inspected once, passed, with nothing against them
	}{
		{recordtest.Open, "", 4, 4, batch.Counts{Passed: 4, Rework: 1, InProgress: 1, Inspected: 5, FirstPass: 4, Inspections: 5}},
		{recordtest.AllPassed, "", 10, 10, batch.Counts{Passed: 10, Inspected: 10, FirstPass: 10, Inspections: 10}},
		{recordtest.SomeHeld, batch.OutgoingAccepted, 9, 9, batch.Counts{Passed: 10, Held: 1, Inspected: 10, FirstPass: 10, Inspections: 10}},
		{recordtest.InDoubt, "", 8, 8, batch.Counts{Passed: 10, InDoubt: 2, Withheld: 2, Inspected: 10, FirstPass: 10, Inspections: 10}},
		{recordtest.Audited, batch.OutgoingOpen, 10, 0, batch.Counts{Passed: 10, Inspected: 10, FirstPass: 10, Inspections: 10}},
		{recordtest.Rejected, batch.OutgoingRejected, 8, 0, batch.Counts{Passed: 10, Held: 2, Left: 10, Inspected: 10, FirstPass: 10, Inspections: 10}},
		{recordtest.HalfAgain, batch.OutgoingRejected, 10, 0, batch.Counts{Passed: 10, Left: 10, LeftAgain: 5, Inspected: 10, FirstPass: 10, Inspections: 15}},
		{recordtest.AllAgain, batch.OutgoingRejected, 9, 0, batch.Counts{Passed: 9, Scrap: 1, Left: 9, LeftAgain: 9, Inspected: 10, FirstPass: 10, Inspections: 20}},
		{recordtest.Stated, batch.OutgoingRejected, 8, 0, batch.Counts{Passed: 10, Held: 2, Left: 10, Inspected: 10, FirstPass: 10, Inspections: 10}},
		{recordtest.Redrawn, batch.OutgoingOpen, 10, 0, batch.Counts{Passed: 10, Inspected: 10, FirstPass: 10, Inspections: 20}},
		{recordtest.Accepted, batch.OutgoingAccepted, 10, 10, batch.Counts{Passed: 10, Uncovered: 1, Inspected: 10, FirstPass: 10, Inspections: 21}},
		{recordtest.Closed, "", 9, 9, batch.Counts{Passed: 9, Scrap: 1, Closed: true, Inspected: 10, FirstPass: 9, Inspections: 10}},
		{recordtest.Imported, "", 9, 9, batch.Counts{Passed: 8, Concession: 1, Rework: 1, Imported: 10, Inspected: 10, FirstPass: 8, Inspections: 10}},
	} {
		t.Run(string(c.state), func(t *testing.T) {
			s := recordtest.In(t, c.state)
			one := recordtest.Must(s.Counts(t.Context(), s.Batch.ID))(t)
			for from, got := range map[string]batch.Counts{"its counts": one, "the list": recordtest.Must(s.Batches(t.Context()))(t)[0].Counts} {
				if got.Lot() != c.lot || got.Ready() != c.ready || got.MayShip() != c.mayShip || got.Registered != 10 {
					t.Errorf("%s: lot %q, %d ready, %d may ship of %d; want %q, %d, %d of 10", from, got.Lot(), got.Ready(), got.MayShip(), got.Registered, c.lot, c.ready, c.mayShip)
				}
				if want := c.state != recordtest.Rejected && c.state != recordtest.HalfAgain; got.MayDraw() != want {
					t.Errorf("%s: may be drawn from: %v, want %v", from, !want, want)
				}
				got.Planned, got.Registered, got.Audit, got.Reasons = 0, 0, nil, nil
				if want := c.want; !reflect.DeepEqual(got, want) {
					t.Errorf("%s: %+v, want %+v", from, got, want)
				}
			}
			if err := s.VerifyAudit(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
}

// An audit that is given up leaves the lot as it stood before.
func TestGivenUpAuditLeavesTheLot(t *testing.T) {
	s := recordtest.In(t, recordtest.Redrawn)
	open := recordtest.Must(s.Counts(t.Context(), s.Batch.ID))(t).Audit
	recordtest.Must(s.GiveUpOutgoing(t.Context(), recordtest.Manager, open.ID, "the wrong level"))(t)
	c := recordtest.Must(s.Counts(t.Context(), s.Batch.ID))(t)
	if c.Lot() != batch.OutgoingRejected || c.MayShip() != 0 || c.Ready() != 10 || c.Audit.Nonconforming != 2 {
		t.Errorf("lot %q, %d may ship, %d ready, %+v", c.Lot(), c.MayShip(), c.Ready(), c.Audit)
	}
}
