package command

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/inspect"
)

// The people of the demo.
const (
	theInspector = "Wren Halloway"
	theManager   = "Ilse Marchetti-Roe"
)

// furnished is a record with something for every form: a batch of ten necks that passed, one of two in doubt, an alarm, and a
// finished study.
func furnished(t *testing.T, dir string) (alarm, study string) {
	t.Helper()
	ctx := context.Background()
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 2"}))(t)
	for name, role := range map[string]batch.Role{theInspector: batch.Inspector, theManager: batch.QualityManager, "Tobias Fennimore": batch.Repairer} {
		recordtest.Must(db.AddPerson(ctx, theManager, name, role))(t)
	}
	gauge := recordtest.Must(db.SaveGauge(ctx, theManager, batch.Gauge{Name: "spare indicator", Sense: 1, ResolutionMM: 0.001, Measures: []batch.Kind{batch.Pitch}, RepeatabilityU: 0.002, CalibrationU: 0.002,
		ZeroLimitMM: 0.02, Capture: "typed", Prefix: "%s", Decoder: "channel and value"}))(t)
	s := &recordtest.Shop{TB: t, DB: db, Gauge: gauge}
	s.Spec = recordtest.Must(db.AddSpec(ctx, theManager, "", "lot.toml", []byte(strings.Replace(recordtest.Spec, "QM Bolt 648", "QM Lot 648", 1))))(t)
	s.Batch = recordtest.Must(db.OpenBatch(ctx, theManager, batch.Batch{Number: "LOT-1", Spec: s.Spec}, lotSerials("LOT-1", 10)))(t)
	s.Pass(lotSerials("LOT-1", 10)...)
	alarmed := batch.Alarm{Kind: batch.YieldAlarm, Subject: "yield/" + s.Batch.ID, BatchID: s.Batch.ID, Seen: 10, Words: "The yield is low.", LookAt: "Look at the saw."}
	recordtest.Must(db.RaiseAlarm(ctx, alarmed))(t)
	alarm = recordtest.Must(db.OpenAlarms(ctx))(t)[0].ID
	recordtest.Must(db.OpenBatch(ctx, theManager, batch.Batch{Number: "LOT-2", Spec: s.Spec}, lotSerials("LOT-2", 2)))(t)
	s.Check(true)
	for _, serial := range lotSerials("LOT-2", 2) {
		in := s.Start(serial)
		s.Read(in, 1, 0.02)
		s.Verdict(in, inspect.Pass, 0.3)
	}
	s.Check(false)
	s.Check(true)
	nut := strings.Replace(recordtest.Spec, "QM Bolt 648", "QM Nut 648", 1)
	nut = nut[:strings.Index(nut, "[[limit]]")] + "[[limit]]\ncharacteristic = \"nut_height\"\nstring = 1\nupper_mm = 0.6\n"
	recordtest.Must(db.OpenBatch(ctx, theManager, batch.Batch{Number: "LOT-4", Spec: recordtest.Must(db.AddSpec(ctx, theManager, "", "nut.toml", []byte(nut)))(t)}, lotSerials("LOT-4", 2)))(t)
	for _, serial := range lotSerials("LOT-4", 2) {
		in := s.Start(serial)
		recordtest.Must(db.AppendReading(ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.NutHeight, String: 1}, Value: 0.4, U: 0.002, By: theInspector, GaugeID: gauge.ID}))(t)
		s.Verdict(in, inspect.Pass, 0.3)
	}
	recordtest.Must(db.AppendGaugeCheck(ctx, batch.GaugeCheck{GaugeID: gauge.ID, By: theManager, ShiftMM: 0.03, ZeroJudged: true, Why: "zero moved by +0.030 mm", After: batch.CheckDue}))(t)
	s.Check(true)
	plan := batch.StudyPlan{Kind: batch.CrossedStudy, About: "steel blocks", Parts: []string{"1", "2", "3"}, Appraisers: []string{theInspector, theManager}, Trials: 2, Seed: 5, ToleranceMM: 0.2}
	st := recordtest.Must(db.StartStudy(ctx, theManager, gauge.ID, plan))(t)
	for i, step := range recordtest.Must(plan.Steps())(t) {
		v := 0.3*float64(step.Part[0]-'0') + 0.004*float64(i%3)
		recordtest.Must(db.AppendStudyReading(ctx, batch.StudyReading{StudyID: st.ID, By: step.Appraiser, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ValueMM: v}))(t)
	}
	if err := db.EndStudy(ctx, theManager, st.ID, batch.StudyFinished, ""); err != nil {
		t.Fatal(err)
	}
	recordtest.Must(db.OpenVisit(ctx, theManager, record.NewVisit{Serial: "2026-007", Kind: "bolt-on", Spec: s.Spec.Spec}))(t)
	recordtest.ByEye(t, db, "LOT-5", "leaves", batch.LeavesGauge)
	recordtest.ByEye(t, db, "LOT-6", "beam", batch.BeamByEyeGauge)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	return alarm, st.ID
}

func lotSerials(number string, n int) []string {
	all := make([]string, n)
	for i := range all {
		all[i] = fmt.Sprintf("%s-%02d", number, i+1)
	}
	return all
}
