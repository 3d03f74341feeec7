package record

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/sampling"
	"sagitta/batch/tell"
	"sagitta/inspect"
)

// found keeps what an audit found on a neck.
func (s *shop) found(a batch.OutgoingAudit, neckID string, conforms bool) {
	s.Helper()
	must(s.AppendOutgoingFindings(s.ctx, batch.OutgoingFinding{By: "Mara Quill", AuditID: a.ID, NeckID: neckID, Conforms: conforms, Note: "buzz at fret 3"}))(s)
}

// A nonconforming finding holds a neck until a newer finding or a verdict after it: not an attempt in progress, not one that
// must be measured again, not one that was opened again.
func TestHeldNeck(t *testing.T) {
	s := newShop(t, serials(8)...)
	s.ready(8)
	a := s.draw(sampling.Normal)
	held, other := a.Necks[0], a.Necks[1]
	for i, step := range []struct {
		do   func()
		held bool
	}{
		{func() {}, false},
		{func() { s.found(a, held.NeckID, false) }, true},
		{func() { s.found(a, held.NeckID, true) }, false},
		{func() { s.found(a, held.NeckID, false) }, true},
		{func() { s.verdict(s.start(other.Serial), inspect.Pass, 0.3, 0.3) }, true},
		{func() { must(s.GiveUpOutgoing(s.ctx, "Mara Quill", a.ID, "a wrong lot"))(t) }, true},
		{func() { s.verdict(s.start(held.Serial), inspect.Remeasure, 0.355, 0.3) }, true},
		{func() { s.verdict(must(s.Inspections(s.ctx, held.NeckID))(t)[1], inspect.Pass, 0.3, 0.3) }, false},
		{func() {
			s.ok(s.SetInspectionState(s.ctx, "Ossian Reed", must(s.Inspections(s.ctx, held.NeckID))(t)[1].ID, batch.Open, "taken back"))
		}, true},
		{func() { s.verdict(must(s.Inspections(s.ctx, held.NeckID))(t)[1], inspect.Pass, 0.3, 0.3) }, false},
	} {
		step.do()
		f := must(s.HeldBy(s.ctx, held.NeckID))(t)
		if got := f != nil; got != step.held {
			t.Fatalf("step %d: held %v, want %v", i, got, step.held)
		}
		if want := "found nonconforming in the outgoing audit of 2026-11-02, buzz at fret 3; inspect it again"; f != nil && tell.Hold(*f) != want {
			t.Errorf("%q, want %q", tell.Hold(*f), want)
		}
		if n := must(s.HeldBy(s.ctx, other.NeckID))(t); n != nil {
			t.Errorf("step %d: another neck is held by %+v", i, n)
		}
		s.recountHeld(fmt.Sprint("step ", i))
	}
}

// A neck in doubt that is held too is kept back once.
func TestHeldAndInDoubt(t *testing.T) {
	s := newShop(t, serials(8)...)
	must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "g", Name: "carriage", Sense: 1}))(t)
	for _, serial := range serials(8) {
		in := s.start(serial)
		if serial == "QM-2611-0001" || serial == "QM-2611-0002" {
			r := crown(in, 1, 0.01)
			r.GaugeID = "g"
			must(s.AppendReading(s.ctx, r))(t)
		}
		s.verdict(in, inspect.Pass, 0.3, 0.3)
	}
	a := must(s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "Mara Quill", BatchID: s.batch.ID, AQL: 0.65, Level: "II", Severity: sampling.Normal}))(t)
	if len(a.Necks) != 8 {
		t.Fatalf("%d drawn, want all", len(a.Necks))
	}
	s.found(a, s.neck("QM-2611-0002").ID, false)
	s.found(a, s.neck("QM-2611-0003").ID, false)
	must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: "g", By: "Mara Quill", Why: "+0.030 mm", After: batch.CheckDue}))(t)
	c := must(s.Counts(s.ctx, s.batch.ID))(t)
	if c.Passed != 8 || c.InDoubt != 2 || c.Withheld != 2 || c.Held != 1 || c.Ready() != 5 || c.MayShip() != 0 {
		t.Errorf("%+v", c)
	}
	s.recountHeld("in doubt and held")
}

// What is counted beside the rows is what a count neck by neck gives, whatever is done in whatever order.
func TestHeldCountsEqualASlowRecount(t *testing.T) {
	s := newShop(t, serials(12)...)
	s.ready(12)
	random := rand.New(rand.NewPCG(11, 7))
	a := must(s.DrawOutgoing(s.ctx, batch.OutgoingAudit{By: "Mara Quill", BatchID: s.batch.ID, AQL: 0.65, Level: "II", Severity: sampling.Normal}))(t)
	outcomes := []inspect.Disposition{inspect.Pass, inspect.Pass, inspect.Rework, inspect.Remeasure}
	most := 0
	for i := range 60 {
		n := a.Necks[random.IntN(len(a.Necks))]
		if all := must(s.Inspections(s.ctx, n.NeckID))(t); random.IntN(3) > 0 {
			s.found(a, n.NeckID, random.IntN(4) == 0)
		} else if last := all[len(all)-1]; last.State == batch.Open {
			s.verdict(last, outcomes[random.IntN(4)], 0.3, 0.3)
		} else if in := s.start(n.Serial); random.IntN(3) > 0 {
			s.verdict(in, outcomes[random.IntN(4)], 0.3, 0.3)
		}
		most = max(most, s.recountHeld(fmt.Sprint("after ", i+1)))
	}
	if most < 3 {
		t.Errorf("at most %d necks were held at once", most)
	}
}

// recountHeld counts neck by neck what is held and may ship and compares; it returns how many are held.
func (s *shop) recountHeld(when string) int {
	s.Helper()
	var ship, held []string
	keptBack := 0
	for _, n := range must(s.Necks(s.ctx, s.batch.ID))(s) {
		holds, since := false, time.Time{}
		for _, d := range must(s.DrawnIn(s.ctx, n.ID))(s) {
			if f := d.Finding; f != nil && f.At.After(since) {
				holds, since = !f.Conforms, f.At
			}
		}
		for _, in := range must(s.Inspections(s.ctx, n.ID))(s) {
			for _, v := range must(s.Verdicts(s.ctx, in.ID))(s) {
				if in.State == batch.Finished && v.Disposition != inspect.Remeasure && v.At.After(since) {
					holds = false
				}
			}
		}
		doubts := must(s.Doubts(s.ctx, batch.DoubtFilter{NeckID: n.ID, Standing: true}))(s)
		passed := n.Disposition == inspect.Pass || n.Disposition == inspect.Concession
		if holds {
			held = append(held, n.Serial)
		}
		if passed && len(doubts) == 0 && holds {
			keptBack++
		} else if passed && len(doubts) == 0 {
			ship = append(ship, n.Serial)
		}
		if n.Held != holds {
			s.Errorf("%s: %s: held %v, want %v", when, n.Serial, n.Held, holds)
		}
	}
	c := must(s.Counts(s.ctx, s.batch.ID))(s)
	if all := must(readyNecks(s.ctx, s.reader, s.batch.ID))(s); !slices.Equal(all, ship) || c.Ready() != len(ship) || c.Held != keptBack {
		s.Errorf("%s: ready %v, %d counted, %d held; want %v, %d held", when, all, c.Ready(), c.Held, ship, keptBack)
	}
	if all := must(s.Batches(s.ctx))(s); all[0].Counts.Ready() != len(ship) || all[0].Counts.Held != keptBack {
		s.Errorf("%s: the list of batches has %+v", when, all[0].Counts)
	}
	page := must(s.NeckPage(s.ctx, batch.NeckFilter{BatchID: s.batch.ID, Held: true}))(s)
	var picked []string
	for _, n := range page.Necks {
		picked = append(picked, n.Serial)
	}
	if !slices.Equal(picked, held) {
		s.Errorf("%s: picked %v, want %v", when, picked, held)
	}
	return keptBack
}
