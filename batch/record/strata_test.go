package record

import (
	"testing"
	"time"

	"sagitta/batch"
)

// The strata hold every neck of every breakdown once, and apart what was measured while a gauge may have read wrong.
func TestStrataEqualARecount(t *testing.T) {
	s := randomHistory(t, 3, 150)
	from, to := time.Date(2025, 3, 3, 12, 0, 0, 0, time.UTC), time.Date(2025, 3, 5, 12, 0, 0, 0, time.UTC)
	must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "g1", Name: "g1", Measures: []batch.Kind{batch.Crown}, Decoder: "signed decimal with unit", Capture: "key", Sense: 1}))(t)
	for _, c := range []batch.GaugeCheck{{At: from, Good: true}, {At: to, Good: false}} {
		c.GaugeID, c.By, c.Why, c.After = "g1", "Mara Quill", "planted", batch.CheckShift
		must(s.AppendGaugeCheck(s.ctx, c))(t)
	}
	got := must(s.Strata(s.ctx, batch.Scope{}))(t)
	if len(got.Spans) != 1 {
		t.Fatalf("%+v, planted one", got.Spans)
	}
	sound := must(s.Strata(s.ctx, batch.Scope{WithoutDoubt: true}))(t)
	left := 0
	for _, d := range stratified {
		sums := map[string]batch.Share{}
		for _, sh := range sound.Shares[d] {
			x := sums[sh.Value]
			x.Inspected, x.FirstPass = x.Inspected+sh.Inspected, x.FirstPass+sh.FirstPass
			sums[sh.Value] = x
		}
		for _, want := range must(s.Breakdown(s.ctx, batch.Scope{WithoutDoubt: true}, d))(t) {
			if x := sums[want.Value]; x.Inspected != want.Inspected || x.FirstPass != want.FirstPass {
				t.Errorf("without doubt, %s %q: %+v in strata, %+v in the breakdown", d, want.Value, x, want)
			}
			if d == batch.ByAll {
				left = want.InDoubt
			}
		}
	}
	if left == 0 {
		t.Error("nothing is in doubt")
	}
	for _, d := range stratified {
		sums := map[string]batch.Share{}
		for _, sh := range got.Shares[d] {
			x := sums[sh.Value]
			x.Inspected, x.FirstPass = x.Inspected+sh.Inspected, x.FirstPass+sh.FirstPass
			sums[sh.Value] = x
			if sh.Batch == "" || sh.SpecName == "" || sh.Revision == "" || sh.Month == 0 {
				t.Errorf("a stratum without its parts: %+v", sh)
			}
		}
		for _, want := range must(s.Breakdown(s.ctx, batch.Scope{}, d))(t) {
			if x := sums[want.Value]; x.Inspected != want.Inspected || x.FirstPass != want.FirstPass {
				t.Errorf("%s %q: %+v in strata, %+v in the breakdown", d, want.Value, x, want)
			}
			delete(sums, want.Value)
		}
		if len(sums) != 0 {
			t.Errorf("%s: %v stands in no breakdown", d, sums)
		}
	}
	want := 0 // the necks of the third to fifth of March were inspected with the gauge at nine
	for _, b := range must(s.Batches(s.ctx))(t) {
		for n, err := range s.EachNeck(s.ctx, b.ID) {
			if err != nil {
				t.Fatal(err)
			}
			if len(n.Inspections) > 0 {
				if at := n.Inspections[0].StartedAt; !at.Before(from) && at.Before(to) {
					want++
				}
			}
		}
	}
	in := 0
	for _, sh := range got.Shares[batch.ByAll] {
		if sh.Span == 1 {
			in += sh.Inspected
		}
	}
	if in != want || want == 0 {
		t.Errorf("%d necks in the span, recounted %d", in, want)
	}
	one := must(s.Strata(s.ctx, batch.Scope{From: 202503, To: 202503}))(t)
	for _, sh := range one.Shares[batch.ByAll] {
		if sh.Month != 202503 {
			t.Errorf("another month: %+v", sh)
		}
	}
}
