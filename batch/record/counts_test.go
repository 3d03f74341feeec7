package record

import (
	"reflect"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

// Numbers worked out by hand for nine necks.
func TestCounts(t *testing.T) {
	s := newShop(t, serials(9)...)
	all := serials(9)
	s.verdict(s.start(all[0]), inspect.Pass, 0.3, 0.3)
	// Passes at the second attempt; the first fails for relief.
	s.verdict(s.start(all[1]), inspect.Rework, 0.5, 0.3)
	s.verdict(s.start(all[1]), inspect.Pass, 0.3, 0.3)
	s.verdict(s.start(all[2]), inspect.Rework, 0.5, 0.5)
	// A remeasure is no inspection; the person's pass after it in the same attempt is a first pass.
	in := s.start(all[3])
	s.verdict(in, inspect.Remeasure, 0.355, 0.3)
	s.verdict(in, inspect.Pass, 0.355, 0.3)
	// Still undecided.
	s.verdict(s.start(all[4]), inspect.Remeasure, 0.355, 0.3)
	// A hump comes before relief in the order of rework.
	in = s.start(all[5])
	v := verdictOf(in, inspect.Repair, 0.5, 0.3)
	v.Result.Characteristics = append(v.Result.Characteristics, inspect.Characteristic{Name: "hump", Track: "treble", Value: new(0.1), Unit: "mm", Upper: new(0.03), Zone: inspect.Nonconforming})
	must(s.AppendVerdict(s.ctx, v))(t)
	// A concession in the first attempt is not a pass, and keeps its reason.
	in = s.start(all[6])
	s.verdict(in, inspect.Rework, 0.37, 0.3)
	c := verdictOf(in, inspect.Concession, 0.37, 0.3)
	c.DecidedBy, c.Reason = "Mara Quill", "customer agreed"
	must(s.AppendVerdict(s.ctx, c))(t)
	s.ok(s.SetInspectionState(s.ctx, "Ossian Reed", s.start(all[7]).ID, batch.Abandoned, "wrong neck"))

	got := must(s.Counts(s.ctx, s.batch.ID))(t)
	want := batch.Counts{Planned: 30, Registered: 9, Inspected: 6, FirstPass: 2, Passed: 3, Concession: 1, Rework: 1, Repair: 1, Undecided: 1,
		InProgress: 1, Inspections: 7, Reasons: []batch.Reason{{Name: "relief", Necks: 3}, {Name: "hump", Necks: 1}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	rows := must(s.Necks(s.ctx, s.batch.ID))(t)
	if r := rows[1]; r.Attempts != 2 || r.Disposition != inspect.Pass || r.FirstPass || r.FirstFailing != "relief, bass side, fret 7 over frets 1–17" || r.State != batch.Finished || !r.Last.After(r.First) {
		t.Errorf("second neck: %+v", r)
	}
	if r := rows[8]; r.Attempts != 0 || r.State != "" || !r.First.IsZero() {
		t.Errorf("untouched neck: %+v", r)
	}
	if found := must(s.SearchNecks(s.ctx, "2611-000", 4))(t); len(found) != 4 || found[0].Serial != all[8] {
		t.Errorf("search: %+v", found)
	}
	if found := must(s.SearchNecks(s.ctx, "2611_000", 4))(t); len(found) != 0 {
		t.Errorf("an underscore matched another sign: %+v", found)
	}
	if b := must(s.Batches(s.ctx))(t); len(b) != 1 || !reflect.DeepEqual(b[0].Counts, want) || b[0].Spec.Spec == nil {
		t.Errorf("batches: %+v", b)
	}
}

func TestReportsStream(t *testing.T) {
	s := newShop(t, serials(3)...)
	must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "g", Name: "carriage", Sense: 1}))(t)
	must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{ID: "h", Name: "height gauge", Sense: 1}))(t)
	late, early := s.start("QM-2611-0003"), s.start("QM-2611-0001")
	for _, in := range []batch.Inspection{late, early} {
		r := crown(in, 1, 0.01)
		r.GaugeID = "g"
		must(s.AppendReading(s.ctx, r))(t)
		s.read(in, 2, 0.02)
		s.verdict(in, inspect.Rework, 0.5, 0.5)
		must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "Ossian Reed", What: "truss rod", Turns: 0.125, Direction: "tighten"}))(t)
	}
	var necks []string
	for n, err := range s.EachNeck(s.ctx, s.batch.ID) {
		s.ok(err)
		necks = append(necks, n.Serial)
		if n.Serial != "QM-2611-0002" && (len(n.Inspections) != 1 || n.Inspections[0].Verdict.Disposition != inspect.Rework) {
			t.Errorf("%s: %+v", n.Serial, n.Inspections)
		}
	}
	if !reflect.DeepEqual(necks, serials(3)) {
		t.Errorf("necks: %v", necks)
	}
	var readings []string
	for r, err := range s.EachReading(s.ctx, s.batch.ID) {
		s.ok(err)
		readings = append(readings, r.Serial[8:]+" "+r.GaugeName)
	}
	if want := []string{"0001 carriage", "0001 ", "0003 carriage", "0003 "}; !reflect.DeepEqual(readings, want) {
		t.Errorf("readings: %q, want %q", readings, want)
	}
	var rework []string
	for r, err := range s.EachRework(s.ctx, s.batch.ID) {
		s.ok(err)
		rework = append(rework, r.Serial)
		break
	}
	if want := []string{"QM-2611-0001"}; !reflect.DeepEqual(rework, want) {
		t.Errorf("rework: %q", rework)
	}
	if g := must(s.BatchGauges(s.ctx, s.batch.ID))(t); len(g) != 1 || g[0].ID != "g" {
		t.Errorf("gauges of the batch: %+v", g)
	}
}
