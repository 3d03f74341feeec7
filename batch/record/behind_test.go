package record

import (
	"testing"

	"sagitta/batch"
)

// Every number of every breakdown is made of the batches behind it, each as a slow count of that batch finds it.
func TestBehind(t *testing.T) {
	s := randomHistory(t, 5, 120)
	slow := map[string]recount{}
	for _, b := range must(s.Batches(s.ctx))(t) {
		slow[b.Number] = slowCount(s, batch.Scope{BatchID: b.ID})
	}
	checked := 0
	for _, d := range []batch.Dimension{batch.ByAll, batch.ByInspector, batch.ByGauge, batch.ByReason, batch.ByFailing} {
		for _, whole := range must(s.Breakdown(s.ctx, batch.Scope{}, d))(t) {
			sum := batch.Share{Value: whole.Value}
			for _, b := range must(s.Behind(s.ctx, batch.Scope{}, d, whole.Value))(t) {
				want := slow[b.Number].shares[d][whole.Value]
				if b.Inspected != want.Inspected || b.FirstPass != want.FirstPass || b.FinalPass != want.FinalPass || b.SpecName == "" || b.Revision == "" {
					t.Errorf("%s %q of %s: %+v, counted %+v", d, whole.Value, b.Number, b, want)
				}
				sum.Inspected, sum.FirstPass, sum.FinalPass = sum.Inspected+b.Inspected, sum.FirstPass+b.FirstPass, sum.FinalPass+b.FinalPass
				checked++
			}
			if sum != whole {
				t.Errorf("%s %q: the batches make %+v, the breakdown says %+v", d, whole.Value, sum, whole)
			}
		}
	}
	if checked < 10 {
		t.Errorf("only %d numbers were compared", checked)
	}
	if none := must(s.Behind(s.ctx, batch.Scope{From: 199901, To: 199902}, batch.ByAll, ""))(t); len(none) != 0 {
		t.Errorf("before the record began: %+v", none)
	}
}
