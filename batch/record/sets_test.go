package record

import (
	"fmt"
	"math"
	"strconv"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Two sets of every kind are what a slow count of the necks finds, like with like too: nothing is lost or counted twice where a gauge
// may have read wrong.
func TestSetValuesEqualARecount(t *testing.T) {
	s := randomHistory(t, 3, 150)
	from, to := time.Date(2025, 3, 3, 12, 0, 0, 0, time.UTC), time.Date(2025, 3, 5, 12, 0, 0, 0, time.UTC)
	must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "g1", Name: "g1", Measures: []batch.Kind{batch.Crown}, Decoder: "signed decimal with unit", Capture: "key", Sense: 1}))(t)
	for _, c := range []batch.GaugeCheck{{At: from, Good: true}, {At: to, Good: false}} {
		c.GaugeID, c.By, c.Why, c.After = "g1", "Mara Quill", "planted", batch.CheckShift
		must(s.AppendGaugeCheck(s.ctx, c))(t)
	}
	type first struct {
		sets   map[batch.Dimension]string
		relief float64
		in     bool
	}
	var all []first
	for _, b := range must(s.Batches(s.ctx))(t) {
		for n, err := range s.EachNeck(s.ctx, b.ID) {
			if err != nil {
				t.Fatal(err)
			}
			for i := range n.Inspections {
				in := &n.Inspections[i]
				if in.Verdict == nil || in.Verdict.Disposition == inspect.Remeasure {
					continue
				}
				at := in.StartedAt.Local()
				humid := ""
				if h := in.Climate.HumidityPercent; h != nil {
					humid = strconv.Itoa(int(math.Floor(*h/10)) * 10)
				}
				all = append(all, first{map[batch.Dimension]string{batch.ByBatch: b.Number, batch.ByMonth: at.Format("200601"), batch.ByRevision: b.Spec.Name + "\n" + b.Spec.Revision, batch.ByInspector: in.Inspector,
					batch.ByHour: at.Format("15"), batch.ByHumidity: humid, batch.ByShift: map[bool]string{true: "06-10", false: "10-06"}[at.Hour() >= 6 && at.Hour() < 10]},
					*in.Verdict.Result.Characteristics[0].Value, !in.StartedAt.Before(from) && in.StartedAt.Before(to)})
				break
			}
		}
	}
	compared, moved := 0, 0
	for _, by := range []batch.Dimension{batch.ByBatch, batch.ByMonth, batch.ByRevision, batch.ByInspector, batch.ByHour, batch.ByHumidity, batch.ByShift} {
		var values []string
		sums := map[string]batch.Moments{}
		spans := map[string]int{}
		for _, f := range all {
			v := f.sets[by]
			if _, known := sums[v]; !known {
				values = append(values, v)
			}
			sums[v] = sums[v].Plus(batch.Moments{N: 1, Mean: f.relief})
			if f.in {
				spans[v]++
			}
		}
		for i := range values {
			a, b := values[i], values[(i+1)%len(values)]
			got := must(s.SetValues(s.ctx, batch.Scope{}, by, a, b, 1000))(t)
			for side, value := range []string{a, b} {
				if side == 1 && a == b {
					continue // the only one
				}
				var sum batch.Moments
				in := 0
				for _, x := range got[side] {
					if x.Named.Key() == (batch.Named{Name: inspect.Relief, Track: "bass", Fret: 7}).Key() {
						sum = sum.Plus(x.Moments)
						if x.Span == 1 {
							in += x.N
						}
					}
				}
				if want := sums[value]; sum.N != want.N || !alike(sum.Mean, want.Mean) || !alike(sum.M2, want.M2) || in != spans[value] {
					t.Errorf("%s %q: %+v, %d in the span; recounted %+v, %d", by, value, sum, in, want, spans[value])
				}
				compared, moved = compared+1, moved+in
			}
		}
	}
	if compared < 12 || moved == 0 {
		t.Errorf("%d sets compared, %d values in the span", compared, moved)
	}
	gauges := must(s.SetValues(s.ctx, batch.Scope{}, batch.ByGauge, "g1", "none", 1000))(t)
	if len(gauges[0]) == 0 || len(gauges[1]) != 0 {
		t.Errorf("of gauge g1 %d sums, of no gauge %d", len(gauges[0]), len(gauges[1]))
	}
	_, err := s.SetValues(s.ctx, batch.Scope{}, "colour", "a", "b", 10)
	wantErr(t, err, ErrInput, fmt.Sprintf("%q", "colour"))
}
