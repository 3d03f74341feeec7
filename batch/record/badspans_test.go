package record

import (
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// A gauge may have read wrong from its last check that passed to the first that failed, however many failed in a row.
func TestBadSpans(t *testing.T) {
	s := newShop(t, serials(1)...)
	at := func(hour int) time.Time { return time.Date(2026, 11, 2, hour, 0, 0, 0, time.UTC) }
	for _, id := range []string{"carriage", "height"} {
		must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: id, Name: id, Measures: []batch.Kind{batch.Crown}, Decoder: "signed decimal with unit", Capture: "key", Sense: 1}))(t)
	}
	for _, c := range []struct {
		gauge string
		hour  int
		good  bool
	}{{"height", 6, false}, {"carriage", 7, true}, {"carriage", 12, true}, {"height", 12, true}, {"carriage", 15, false}, {"carriage", 16, false}, {"carriage", 17, true}, {"carriage", 20, false}} {
		must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: c.gauge, At: at(c.hour), By: "Mara Quill", Good: c.good, Why: "planted", After: batch.CheckShift}))(t)
	}
	got := must(s.BadSpans(s.ctx))(t)
	want := []batch.BadSpan{{GaugeID: "height", To: at(6)}, {GaugeID: "carriage", From: at(12), To: at(15)}, {GaugeID: "carriage", From: at(17), To: at(20)}}
	if len(got) != len(want) {
		t.Fatalf("%+v, planted %+v", got, want)
	}
	for i, w := range want {
		if g := got[i]; g.GaugeID != w.GaugeID || !g.From.Equal(w.From) || !g.To.Equal(w.To) || g.CheckID == "" {
			t.Errorf("%+v, planted %+v", g, w)
		}
	}
	one := got[1]
	if !one.Holds("carriage", at(12)) || one.Holds("carriage", at(15)) || one.Holds("height", at(13)) || one.Holds("carriage", at(11)) {
		t.Errorf("%+v holds what it should not", one)
	}
}

// What rework came to is what a slow count of the necks finds.
func TestReworkedEqualsARecount(t *testing.T) {
	counted := 0
	for seed := range uint64(6) {
		s := randomHistory(t, seed, 150)
		for _, b := range must(s.Batches(s.ctx))(t) {
			n, between := 0, 0
			for neck, err := range s.EachNeck(s.ctx, b.ID) {
				if err != nil {
					t.Fatal(err)
				}
				var judged []*batch.Verdict
				for _, in := range neck.Inspections {
					if in.Verdict != nil && in.Verdict.Disposition != inspect.Remeasure && in.State == batch.Finished {
						judged = append(judged, in.Verdict)
					}
				}
				if len(judged) < 2 {
					continue
				}
				for _, c := range judged[len(judged)-1].Result.Characteristics {
					if c.Name == inspect.Relief && c.Track == "bass" && c.Value != nil {
						n++
						if !(c.Lower != nil && *c.Value < *c.Lower || c.Upper != nil && *c.Value > *c.Upper) {
							between++
						}
					}
				}
			}
			gotN, gotBetween, err := s.Reworked(s.ctx, b.ID, batch.Named{Name: inspect.Relief, Track: "bass", Fret: 7}, time.Time{})
			if err != nil || gotN != n || gotBetween != between {
				t.Errorf("seed %d, %s: %d of %d between their limits, counted %d of %d, %v", seed, b.Number, gotBetween, gotN, between, n, err)
			}
			counted += n
		}
	}
	if counted == 0 {
		t.Error("nothing was counted")
	}
}
