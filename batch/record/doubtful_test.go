package record

import (
	"fmt"
	"math"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// Every sum over first measurements counts what is in doubt and can leave it out, all alike: as a recount over the series does. A
// person's clearing takes a value in again; a later attempt does not, since the first measurement is as doubtful as it was.
func TestFirstsInDoubtAreCountedAndLeftOut(t *testing.T) {
	s, g := nuts(t, 0.03, 0.50, 0.42, 0.35, 0.47, 0.55)
	in := func(n int) string { return must(s.Neck(s.ctx, serials(5)[n-1]))(t).ID }
	s.check(g.ID, true)
	s.ok(s.clear("Mara Quill", in(1), "measured with the beam"))
	again := s.start(serials(5)[1])
	must(s.AppendVerdict(s.ctx, batch.Verdict{InspectionID: again.ID, Result: bareResult(inspect.Pass), Disposition: inspect.Pass}))(t)
	// In doubt are 0.42 (inspected again since), 0.35 (which fails), 0.47 and 0.55; left is the first, which was cleared.
	for _, without := range []bool{false, true} {
		scope := batch.Scope{BatchID: s.batch.ID, WithoutDoubt: without}
		values, doubtful := valuesOf(t, s, scope)
		wantN, wantPassed := 5, 4
		if without {
			wantN, wantPassed = 1, 1
		} else if doubtful != 4 {
			t.Errorf("%d values of the series are marked in doubt, want 4", doubtful)
		}
		if len(values) != wantN {
			t.Errorf("without %t: %d values in the series, want %d", without, len(values), wantN)
		}
		for _, scope := range []batch.Scope{scope, {SpecName: "QM Nut 648", WithoutDoubt: without}} {
			rows := must(s.Characteristics(s.ctx, scope, "", batch.SplitMonth))(t)
			sum := 0.0
			for _, v := range values {
				sum += v
			}
			if len(rows) != 1 || rows[0].N != wantN || math.Abs(rows[0].Mean-sum/float64(wantN)) > 1e-12 || rows[0].InDoubt != 4 {
				t.Errorf("without %t: characteristics %+v, want %d values of mean %g and 4 in doubt", without, rows, wantN, sum/float64(wantN))
			}
			shares := must(s.Breakdown(s.ctx, scope, batch.ByAll))(t)
			if len(shares) != 1 || shares[0].Inspected != wantN || shares[0].FirstPass != wantPassed || shares[0].InDoubt != 4 {
				t.Errorf("without %t: %+v, want %d of %d passed and 4 in doubt", without, shares, wantPassed, wantN)
			}
			trend := must(s.Trend(s.ctx, scope))(t)
			if len(trend) != 1 || trend[0].Inspected != wantN || trend[0].FirstPass != wantPassed || trend[0].InDoubt != 4 || (len(trend[0].Reasons) == 0) != without {
				t.Errorf("without %t: trend %+v", without, trend)
			}
			behind := must(s.Behind(s.ctx, scope, batch.ByAll, ""))(t)
			if len(behind) != 1 || behind[0].Inspected != wantN || behind[0].InDoubt != 4 {
				t.Errorf("without %t: behind %+v", without, behind)
			}
		}
	}
	newest := 0
	for p, err := range s.Series(s.ctx, batch.SeriesFilter{Scope: batch.Scope{BatchID: s.batch.ID, WithoutDoubt: true}, Named: batch.Named{Name: inspect.NutHeight, String: 1}, Newest: 2}) {
		if err != nil || p.Serial != serials(5)[0] {
			t.Errorf("%+v, %v", p, err)
		}
		newest++
	}
	if newest != 1 {
		t.Errorf("%d of the newest two sound values, want the one there is", newest)
	}
}

// valuesOf is the values of a series, and how many are marked in doubt.
func valuesOf(t *testing.T, s *shop, scope batch.Scope) (values []float64, doubtful int) {
	t.Helper()
	for p, err := range s.Series(s.ctx, batch.SeriesFilter{Scope: scope, Named: batch.Named{Name: inspect.NutHeight, String: 1, Unit: "mm"}}) {
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, *p.Value)
		if p.InDoubt {
			doubtful++
		}
	}
	return values, doubtful
}

// bareResult is a made-up result without a limited value.
func bareResult(d inspect.Disposition) *inspect.Result {
	return &inspect.Result{Serial: fmt.Sprint(d), Conforms: d == inspect.Pass, Disposition: d}
}
