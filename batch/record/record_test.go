package record

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

func wantErr(t *testing.T, err, kind error, words ...string) {
	t.Helper()
	if !errors.Is(err, kind) {
		t.Errorf("got error %v, want %v", err, kind)
		return
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("error %q does not say %q", err, w)
		}
	}
}

func TestSerialNumbersAreUniqueInTheWholeRecord(t *testing.T) {
	s := newShop(t, "QM-2611-0001", "QM-2611-0002")
	_, err := s.AddNecks(s.ctx, "Mara Quill", s.batch.ID, []string{"QM-2611-0003", " QM-2611-0002 "})
	wantErr(t, err, ErrExists, "QM-2611-0002", "in batch QM-2611")
	_, err = s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2612", Spec: s.spec}, []string{"QM-2611-0001"})
	wantErr(t, err, ErrExists, "QM-2611-0001", "in batch QM-2611")
	if _, err := s.Batch(s.ctx, "QM-2612"); !errors.Is(err, ErrUnknown) {
		t.Errorf("a batch that was refused is there: %v", err)
	}
	if got := must(s.Necks(s.ctx, s.batch.ID))(t); len(got) != 2 {
		t.Errorf("a group that was refused left necks behind: %d, want 2", len(got))
	}
	_, err = s.Neck(s.ctx, "QM-2611-0003")
	wantErr(t, err, ErrUnknownSerial, "QM-2611-0003")
	_, err = s.Neck(s.ctx, "qm-2611-0001")
	wantErr(t, err, ErrUnknownSerial, "QM-2611-0001 is, which differs in capital and small letters")
	if n := s.neck("\tQM-2611-0001\r\n"); n.Serial != "QM-2611-0001" || n.BatchNumber != "QM-2611" {
		t.Errorf("trimmed serial number finds %+v", n)
	}
	_, err = s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2611", Spec: s.spec}, nil)
	wantErr(t, err, ErrExists, "QM-2611")
	_, err = s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2613", Spec: s.spec, Pattern: `QM-2613-\d{4}`}, []string{"XQM-2613-0001"})
	wantErr(t, err, ErrInput, "XQM-2613-0001", `QM-2613-\d{4}`)
	_, err = s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2613", Spec: s.spec, Check: "MOD 9"}, nil)
	wantErr(t, err, ErrInput, `"MOD 9"`, "ISO/IEC 7064 MOD 11,10")
	// 07945 is the standard's worked example.
	checked := must(s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2613", Spec: s.spec, Check: batch.Mod11x10}, []string{"07945"}))(t)
	_, err = s.AddNecks(s.ctx, "Mara Quill", checked.ID, []string{"07946"})
	wantErr(t, err, ErrInput, "07946", "MOD 11,10) is 5")
	if b := must(s.Batch(s.ctx, "QM-2613"))(t); b.Check != batch.Mod11x10 || len(must(s.Necks(s.ctx, b.ID))(t)) != 1 {
		t.Errorf("the batch reads back as %+v", b)
	}
}

func TestSpecificationIsFrozenByItsFirstBatch(t *testing.T) {
	s := newShop(t)
	again := must(s.AddSpec(s.ctx, "Mara Quill", "", "bolt.toml", []byte(specText)))(t)
	if again.ID != s.spec.ID || again.FrozenAt.IsZero() {
		t.Errorf("the same text again: got %s frozen %v, want %s, frozen", again.ID, again.FrozenAt, s.spec.ID)
	}
	other := strings.Replace(specText, "0.36", "0.40", 1)
	_, err := s.AddSpec(s.ctx, "Mara Quill", "", "bolt.toml", []byte(other))
	wantErr(t, err, ErrFrozen, "QM Bolt 648", "revision B", "new revision")

	draft := must(s.AddSpec(s.ctx, "Mara Quill", "", "bolt.toml", []byte(strings.Replace(specText, `"B"`, `"C"`, 1))))(t)
	final := must(s.AddSpec(s.ctx, "Mara Quill", "the customer wants it lower", "bolt.toml", []byte(strings.Replace(other, `"B"`, `"C"`, 1))))(t)
	_, err = s.OpenBatch(s.ctx, "Mara Quill", batch.Batch{Number: "QM-2612", Spec: draft}, nil)
	wantErr(t, err, ErrState, "has been replaced")
	specs := must(s.Specs(s.ctx))(t)
	if len(specs) != 2 || specs[1].ID != final.ID || *specs[1].Spec.Limits[0].UpperMM != 0.40 {
		t.Errorf("specifications: got %d, the last %+v; want the replacing text of revision C", len(specs), specs[len(specs)-1])
	}
	if specs[1].Reason != "the customer wants it lower" || specs[0].Reason != "" {
		t.Errorf("reasons: %q, then %q", specs[0].Reason, specs[1].Reason)
	}
	if specs[0].Spec.Routine == nil || specs[0].Spec.Datum.SecondFret != 17 {
		t.Errorf("defaults are not filled in: %+v", specs[0].Spec)
	}
}

func TestAttempts(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	if in.Attempt != 1 || in.State != batch.Open || in.Station != "bench 1" {
		t.Errorf("first attempt: %+v", in)
	}
	again := batch.Inspection{NeckID: in.NeckID, Inspector: "Ossian Reed"}
	_, err := s.StartInspection(s.ctx, again)
	wantErr(t, err, ErrState, "QM-2611-0001", "is open")
	s.ok(s.SetInspectionState(s.ctx, "Ossian Reed", in.ID, batch.Parked, "acclimatising"))
	_, err = s.StartInspection(s.ctx, again)
	wantErr(t, err, ErrState, "is parked")
	s.ok(s.SetClimate(s.ctx, "Ossian Reed", in.ID, inspect.Climate{TemperatureC: new(21.5)}))
	open := must(s.OpenInspections(s.ctx))(t)
	if len(open) != 1 || open[0].StateReason != "acclimatising" || *open[0].Climate.TemperatureC != 21.5 {
		t.Errorf("parked inspections: %+v", open)
	}
	wantErr(t, s.CloseBatch(s.ctx, "Mara Quill", "QM-2611"), ErrState, "QM-2611-0001")
	s.verdict(in, inspect.Remeasure, 0.355, 0.3)
	if got := must(s.Inspection(s.ctx, in.ID))(t); got.State != batch.Parked {
		t.Errorf("a remeasure finished the inspection: %s", got.State)
	}
	s.verdict(in, inspect.Rework, 0.42, 0.4)
	wantErr(t, s.SetInspectionState(s.ctx, "Ossian Reed", in.ID, batch.Abandoned, "no"), ErrState, "finished")
	wantErr(t, s.SetInspectionState(s.ctx, "Ossian Reed", in.ID, batch.Open, ""), ErrInput, "reason")
	s.ok(s.SetInspectionState(s.ctx, "Ossian Reed", in.ID, batch.Open, "last reading taken back"))
	if got := must(s.OpenInspections(s.ctx))(t); len(got) != 1 || got[0].ID != in.ID {
		t.Errorf("opened again: %+v", got)
	}
	s.verdict(in, inspect.Rework, 0.42, 0.4)
	second := s.start("QM-2611-0001")
	wantErr(t, s.SetInspectionState(s.ctx, "Ossian Reed", in.ID, batch.Open, "too late"), ErrState, "attempt 1", "finished")
	if second.Attempt != 2 {
		t.Errorf("attempt after a verdict: %d, want 2", second.Attempt)
	}
	s.ok(s.SetInspectionState(s.ctx, "Ossian Reed", second.ID, batch.Abandoned, "string broke"))
	_, err = s.AppendVerdict(s.ctx, verdictOf(second, inspect.Pass, 0.3, 0.3))
	wantErr(t, err, ErrState, "given up")
	s.ok(s.CloseBatch(s.ctx, "Mara Quill", "QM-2611"))
	_, err = s.StartInspection(s.ctx, again)
	wantErr(t, err, ErrState, "closed")
	if got := must(s.Inspections(s.ctx, in.NeckID))(t); len(got) != 2 || got[1].State != batch.Abandoned {
		t.Errorf("history: %+v", got)
	}
}

func TestReadingsComeBackAsTheyWere(t *testing.T) {
	s := newShop(t, serials(2)...)
	in, other := s.start("QM-2611-0001"), s.start("QM-2611-0002")
	full := batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.ActionHeight, Track: "bass", Fret: 12, String: 6, HeldFret: 1}, Round: 2,
		At: time.Date(2026, 11, 2, 8, 0, 0, 123456789, time.UTC), Value: 1.9000000000000001, U: 0.0051, URepeat: 0.003, By: "Ossian Reed", Reason: "held, accepted",
		GaugeID: "g", CheckID: "c", Decoder: "signed decimal@1", Raw: []byte{0, 0xff, '\r'}, Offset: 1 << 40, Sent: "+1.900", Unit: "mm", Decoded: 1.9,
		FeetMM: [2]float64{36.4, 405.3}, PlungerMM: 215.5}
	kept := must(s.AppendReading(s.ctx, full))(t)
	undo := must(s.AppendReading(s.ctx, batch.Reading{InspectionID: in.ID, Point: full.Point, Withdrawn: true, Supersedes: kept.ID, By: "Ossian Reed"}))(t)
	got := must(s.Readings(s.ctx, in.ID))(t)
	if !reflect.DeepEqual(got, []batch.Reading{kept, undo}) {
		t.Errorf("got %+v\nwant %+v", got, []batch.Reading{kept, undo})
	}
	full.ID, full.Seq = kept.ID, 1
	if !reflect.DeepEqual(kept, full) {
		t.Errorf("got %+v\nwant %+v", kept, full)
	}
	_, err := s.AppendReading(s.ctx, batch.Reading{InspectionID: other.ID, Supersedes: kept.ID})
	wantErr(t, err, ErrInput, "not of this inspection")
	_, err = s.AppendReading(s.ctx, batch.Reading{InspectionID: "nobody"})
	wantErr(t, err, ErrInput, "no such inspection")
	nan := crown(in, 1, 0)
	nan.Value /= nan.Value
	_, err = s.AppendReading(s.ctx, nan)
	wantErr(t, err, ErrInput, "NaN", "finite")
	_, err = s.AppendReadings(s.ctx, []batch.Reading{crown(other, 1, 0.1), nan})
	wantErr(t, err, ErrInput)
	if got := must(s.Readings(s.ctx, other.ID))(t); len(got) != 0 {
		t.Errorf("a refused group left %d readings", len(got))
	}
}

func TestVerdictSaysWhichReadingsItRestsOn(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	if v := must(s.LatestVerdict(s.ctx, in.ID))(t); v != nil {
		t.Errorf("a verdict before the first: %+v", v)
	}
	s.read(in, 1, 0)
	last := s.read(in, 2, 0.1)
	kept := s.verdict(in, inspect.Rework, 0.5, 0.4)
	s.read(in, 3, 0.1)
	got := must(s.LatestVerdict(s.ctx, in.ID))(t)
	if !reflect.DeepEqual(*got, kept) || got.LastSeq != last.Seq {
		t.Errorf("got %+v\nwant %+v, resting on readings up to %d", *got, kept, last.Seq)
	}
	s.ok(s.VerifyAudit(s.ctx)) // a reading after a verdict is none of the verdict's
	if all := must(s.Verdicts(s.ctx, in.ID))(t); len(all) != 1 {
		t.Errorf("verdicts: %+v", all)
	}
}

func TestRodSteps(t *testing.T) {
	s := newShop(t, serials(2)...)
	turn := func(in batch.Inspection) {
		must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "Ossian Reed", What: "truss rod", Turns: 0.25, Direction: "tighten"}))(t)
	}
	first := s.start("QM-2611-0001")
	s.verdict(first, inspect.Rework, 0.50, 0.54)
	turn(first)
	second := s.start("QM-2611-0001")
	s.verdict(second, inspect.Remeasure, 0.36, 0.36)
	if got := must(s.RodSteps(s.ctx, first.NeckID, 9))(t); len(got) != 0 {
		t.Errorf("a step before the next verdict: %+v", got)
	}
	s.verdict(second, inspect.Rework, 0.38, 0.42)
	turn(second)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: first.NeckID, InspectionID: second.ID, By: "Ossian Reed", What: "fret level", Fret: 9}))(t)
	third := s.start("QM-2611-0001")
	s.verdict(third, inspect.Pass, 0.3, 0.3)

	if got := must(s.RodSteps(s.ctx, first.NeckID, second.Attempt))(t); len(got) != 0 {
		t.Errorf("a step that the attempt itself judges: %+v", got)
	}
	got := must(s.RodSteps(s.ctx, first.NeckID, third.Attempt))(t)
	if len(got) != 1 { // the second turn went with other work
		t.Fatalf("steps: %+v, want one", got)
	}
	// Mean relief over both tracks; u of a mean of two is 0.004/sqrt 2, of the difference of two such means 0.004 (JCGM 100, 5.1.2).
	step := got[0]
	near := func(a, b float64) bool { return a-b < 1e-12 && b-a < 1e-12 }
	if !near(step.ReliefBeforeMM, 0.52) || !near(step.ReliefAfterMM, 0.40) || !near(*step.UMM, 0.004) || step.Turns != 0.25 || step.Direction != "tighten" {
		t.Errorf("step: %+v (u %g)", step, *step.UMM)
	}
	if model := must(s.RodModel(s.ctx, "QM Bolt 648", "another neck"))(t); !reflect.DeepEqual(model, got) {
		t.Errorf("model: %+v", model)
	}
	// Measured again with nothing done between: the same step's.
	second = s.start("QM-2611-0002")
	s.verdict(second, inspect.Rework, 0.50, 0.54)
	turn(second)
	for _, mm := range []float64{0.50, 0.48, 0.46} {
		s.verdict(s.start("QM-2611-0002"), inspect.Rework, mm, mm)
	}
	got = must(s.RodSteps(s.ctx, second.NeckID, 9))(t)
	if len(got) != 1 || !reflect.DeepEqual(got[0].ReliefAgainMM, []float64{0.48, 0.46}) || got[0].NewSetUp {
		t.Errorf("measured three times after the step: %+v", got)
	}
	if got := must(s.RodSteps(s.ctx, second.NeckID, 3))(t); len(got) != 1 || got[0].ReliefAgainMM != nil {
		t.Errorf("before it was measured again: %+v", got)
	}
	if model := must(s.RodModel(s.ctx, "another", ""))(t); len(model) != 0 {
		t.Errorf("another model: %+v", model)
	}
}

// Turns between the same two verdicts are one step; turns both ways, and other work, are none, and the next step begins anew. A
// repairer's work stands with the step before it.
func TestRodStepsBetweenTwoVerdicts(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	work := func(what string, turns float64, direction string) {
		must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "Ossian Reed", What: what, Turns: turns, Direction: direction}))(t)
	}
	judged := func(mm float64) {
		if mm < 0.6 {
			in = s.start("QM-2611-0001")
		}
		s.verdict(in, inspect.Rework, mm, mm)
	}
	judged(0.6)
	work("truss rod", 0.25, "tighten")
	work("pitch", 0, "")
	work("truss rod", 0.125, "tighten")
	judged(0.45)
	work("truss rod", 0.25, "tighten")
	work("truss rod", 0.25, "loosen")
	judged(0.44)
	work("truss rod", 0.125, "tighten")
	judged(0.4)
	work("repairer", 0, "")
	judged(0.5)
	work("fret level", 0, "")
	work("truss rod", 0.25, "tighten")
	judged(0.35)
	work("truss rod", 0.0625, "loosen")
	judged(0.38)
	type step struct {
		turns            float64
		way              string
		before, after    float64
		newSetUp, repair bool
	}
	want := []step{{0.375, "tighten", 0.6, 0.45, false, false}, {0.125, "tighten", 0.44, 0.4, true, true}, {0.0625, "loosen", 0.35, 0.38, true, false}}
	var got []step
	for _, r := range must(s.RodSteps(s.ctx, in.NeckID, 99))(t) {
		got = append(got, step{r.Turns, r.Direction, r.ReliefBeforeMM, r.ReliefAfterMM, r.NewSetUp, r.Repaired})
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got\n%+v, want\n%+v", got, want)
	}
	if early := must(s.RodSteps(s.ctx, in.NeckID, 5))(t); len(early) != 2 || !early[1].Repaired {
		t.Errorf("for the attempt after the repairer's work: %+v", early)
	}
}

func TestGauges(t *testing.T) {
	s := newShop(t)
	g := batch.Gauge{ID: "carriage", Name: "carriage indicator", Measures: []batch.Kind{batch.Crown}, Sense: 1, ResolutionMM: 0.001,
		Calibration: []batch.CalibrationPoint{{IndicatedMM: 0, ErrorMM: 0}, {IndicatedMM: 1, ErrorMM: 0.002}}, CertificateDue: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}
	saved := must(s.SaveGauge(s.ctx, "Mara Quill", g))(t)
	g.AddedAt, g.Kind = saved.AddedAt, batch.IndicatorGauge
	if !reflect.DeepEqual(saved, g) || saved.AddedAt.IsZero() {
		t.Errorf("saved %+v, want %+v", saved, g)
	}
	before := len(must(s.Audit(s.ctx, 0))(t))
	must(s.SaveGauge(s.ctx, "Mara Quill", g))(t)
	if after := len(must(s.Audit(s.ctx, 0))(t)); after != before {
		t.Errorf("the same entry again made %d audit entries", after-before)
	}
	bad := g
	bad.Sense, bad.ResolutionMM = 0, -1
	_, err := s.SaveGauge(s.ctx, "Mara Quill", bad)
	wantErr(t, err, ErrInput, "sense: found 0", "resolution: found -1")
	if c := must(s.LatestCheck(s.ctx, g.ID))(t); c != nil {
		t.Errorf("a check before the first: %+v", c)
	}
	check := must(s.AppendGaugeCheck(s.ctx, batch.GaugeCheck{GaugeID: g.ID, By: "Ossian Reed", ZeroMM: 0.001, Masters: []batch.MasterReading{{NominalMM: 1, LimitMM: 0.02, ReadMM: 1.001, Raw: []byte("+1.001")}}, Good: true, After: "shift", RawZero: []byte("+0.001"), Unit: "mm"}))(t)
	if c := must(s.LatestCheck(s.ctx, g.ID))(t); !reflect.DeepEqual(*c, check) {
		t.Errorf("newest check %+v, want %+v", *c, check)
	}
	s.ok(s.RetireGauge(s.ctx, "Mara Quill", g.ID))
	all := must(s.Gauges(s.ctx))(t)
	if len(all) != 1 || all[0].RetiredAt.IsZero() || all[0].Serves(batch.Crown) {
		t.Errorf("retired: %+v", all)
	}
}

func TestPeople(t *testing.T) {
	s := newShop(t)
	p := must(s.AddPerson(s.ctx, "Mara Quill", " Ossian Reed ", batch.Inspector))(t)
	q := must(s.AddPerson(s.ctx, "Mara Quill", "Ossian Reed", batch.Inspector))(t)
	if p.ID != q.ID || !p.Since.Equal(q.Since) {
		t.Errorf("the same entry made another person: %+v, %+v", p, q)
	}
	_, err := s.AddPerson(s.ctx, "Mara Quill", "Ossian Reed", batch.Repairer)
	wantErr(t, err, ErrExists, "is entered already as inspector")
	if all := must(s.People(s.ctx))(t); len(all) != 1 || all[0].Role != batch.Inspector {
		t.Errorf("people: %+v", all)
	}
	_, err = s.AddPerson(s.ctx, "Mara Quill", "Somebody", "boss")
	wantErr(t, err, ErrInput, "boss", "quality manager")
}
