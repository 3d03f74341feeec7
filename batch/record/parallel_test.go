package record

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"sync"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// Several benches append at once while reports stream: nothing is lost, nothing waits for ever, and every inspection's
// readings are numbered without a gap.
func TestParallelAppendsAndStreams(t *testing.T) {
	const benches, readings = 6, 30
	s := newShop(t, serials(benches)...)
	var group sync.WaitGroup
	for b := range benches {
		in := s.start(fmt.Sprintf("QM-2611-%04d", b+1))
		group.Go(func() {
			for i := range readings {
				if _, err := s.AppendReading(s.ctx, crown(in, 1+i%22, float64(i))); err != nil {
					t.Error(err)
				}
			}
		})
		group.Go(func() {
			for n, err := range s.EachNeck(s.ctx, s.batch.ID) {
				if err != nil {
					t.Error(err)
				}
				if _, err := s.Inspections(s.ctx, n.ID); err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
	for _, in := range must(s.OpenInspections(s.ctx))(t) {
		got := must(s.Readings(s.ctx, in.ID))(t)
		if len(got) != readings {
			t.Errorf("%s: %d readings, want %d", in.Serial, len(got), readings)
		}
		for i, r := range got {
			if r.Seq != int64(i+1) || r.Value != float64(i) {
				t.Errorf("%s: reading %d is %d with %g", in.Serial, i+1, r.Seq, r.Value)
			}
		}
	}
}

// The tally that is kept beside the rows equals a count over inspections and verdicts from the start, after any history.
func TestTallyEqualsACountFromTheStart(t *testing.T) {
	const seed = 26
	random := rand.New(rand.NewPCG(seed, seed))
	s := newShop(t, serials(12)...)
	for range 150 {
		serial := serials(12)[random.IntN(12)]
		history := must(s.Inspections(s.ctx, s.neck(serial).ID))(t)
		if len(history) == 0 || history[len(history)-1].State == batch.Finished || history[len(history)-1].State == batch.Abandoned {
			s.start(serial)
			continue
		}
		in := history[len(history)-1]
		switch random.IntN(5) {
		case 0:
			s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Parked, "waits"))
		case 1:
			s.ok(s.SetInspectionState(s.ctx, "x", in.ID, batch.Abandoned, "wrong neck"))
		default:
			d := []inspect.Disposition{inspect.Pass, inspect.Rework, inspect.Repair, inspect.Remeasure}[random.IntN(4)]
			relief := 0.3
			if d == inspect.Rework || d == inspect.Repair {
				relief = 0.5
			}
			s.verdict(in, d, relief, 0.3)
		}
	}
	want := batch.Counts{Planned: 30}
	reasons := 0
	for n, err := range s.EachNeck(s.ctx, s.batch.ID) {
		s.ok(err)
		want.Registered++
		var newest inspect.Disposition
		judged := 0
		for _, in := range n.Inspections {
			if in.State == batch.Open || in.State == batch.Parked {
				want.InProgress++
			}
			if in.Verdict == nil {
				continue
			}
			newest = in.Verdict.Disposition
			if newest == inspect.Remeasure {
				continue
			}
			want.Inspections++
			if judged++; judged > 1 {
				continue
			}
			want.Inspected++
			if newest == inspect.Pass {
				want.FirstPass++
			} else {
				reasons++
			}
		}
		switch newest {
		case inspect.Pass:
			want.Passed++
		case inspect.Rework:
			want.Rework++
		case inspect.Repair:
			want.Repair++
		case inspect.Remeasure:
			want.Undecided++
		}
	}
	want.Reasons = []batch.Reason{{Name: "relief", Necks: reasons}}
	if got := must(s.Counts(s.ctx, s.batch.ID))(t); !reflect.DeepEqual(got, want) {
		t.Errorf("seed %d: got  %+v\nwant %+v", seed, got, want)
	}
	s.ok(s.VerifyAudit(s.ctx))
}
