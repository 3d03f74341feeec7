package bench

import (
	"context"
	"strconv"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/study"
)

func (s *shop) plan(p batch.StudyPlan) batch.GaugeStudy {
	s.t.Helper()
	st, err := s.db.StartStudy(s.ctx, "Ilse Marchetti-Roe", height, p)
	s.ok(err)
	return st
}

// A crossed study is measured with the live gauge in its blind order; it goes on after a crash where it was; the bench
// measures no neck meanwhile, and a reading taken back is asked for again.
func TestStudyOnTheBench(t *testing.T) {
	s := open(t)
	st := s.plan(batch.StudyPlan{Kind: batch.CrossedStudy, About: "height of five blocks", Parts: []string{"1", "2", "3", "4", "5"},
		Appraisers: []string{"Wren Halloway", "Ossian Reed"}, Trials: 2, Seed: 3, ToleranceMM: 0.5})
	s.ok(s.bench.BeginStudy(s.ctx, st.ID))
	s.refused(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"), "a study of the height gauge is on the bench")
	n := 0
	measure := func() {
		shown := s.bench.Snapshot().Study
		part, err := strconv.Atoi(shown.HandOver)
		s.ok(err)
		n++
		s.frame(height, float64(part)*0.2+float64(n%3)*0.001, true)
	}
	for range 7 {
		measure()
	}
	if now := s.bench.Snapshot().Study; now.Taken != 7 || now.Of != 20 {
		t.Fatalf("%+v", now)
	}
	before := *s.bench.Snapshot().Study
	measure()
	s.ok(s.bench.Undo(s.ctx))
	if now := *s.bench.Snapshot().Study; now != before {
		t.Errorf("after taking back %+v is asked for, want %+v", now, before)
	}
	s.restart()
	s.refused(s.bench.BeginStudy(s.ctx, st.ID), "nobody is at the bench")
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	s.ok(s.bench.BeginStudy(s.ctx, st.ID))
	for s.bench.Snapshot().Study != nil {
		measure()
	}
	st, err := s.db.Study(s.ctx, st.ID)
	s.ok(err)
	if st.State != batch.StudyFinished || st.Readings != 20 {
		t.Fatalf("%+v", st)
	}
	all, err := s.db.StudyReadings(s.ctx, st.ID)
	s.ok(err)
	var data []study.Measurement
	for _, r := range batch.StandingStudy(all) {
		data = append(data, study.Measurement{Part: r.Part, Appraiser: r.Appraiser, Trial: r.Trial, Value: r.ValueMM})
		if part, _ := strconv.Atoi(r.Part); r.ValueMM-float64(part)*0.2 > 0.003 || len(r.Raw) == 0 || r.CheckID == "" {
			t.Errorf("reading %+v", r)
		}
	}
	r, err := study.Crossed(data, study.Options{Tolerance: 0.5})
	if err != nil || *r.PercentGRR > 1 {
		t.Errorf("%v, %+v", err, r)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
}

// A gauge that is out of order is not studied, and a bounce of its key is no reading.
func TestStudyRefuses(t *testing.T) {
	s := open(t)
	st := s.plan(batch.StudyPlan{Kind: batch.TypeOneStudy, About: "1 mm master", Appraisers: []string{"Wren Halloway"}, Trials: 25, References: []float64{1}, ToleranceMM: 0.5})
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.refused(s.bench.BeginStudy(s.ctx, st.ID), "QM-2611-0001 is being measured")
	s.ok(s.bench.Park(s.ctx, "study"))
	s.ok(s.bench.BeginStudy(s.ctx, st.ID))
	s.frame(height, 1.001, true)
	s.frameAs(height, 1.001, "mm", true, bounce/4)
	snap := s.bench.Snapshot()
	if snap.Study.Taken != 1 || snap.Notice == nil || !snap.Notice.Refused {
		t.Errorf("%+v, %+v", snap.Study, snap.Notice)
	}
	s.set(s.at().AddDate(0, 0, 1)) // the check has run out
	s.frame(height, 1.002, true)
	if snap = s.bench.Snapshot(); snap.Study.Taken != 1 || !snap.Notice.Refused {
		t.Errorf("%+v, %+v", snap.Study, snap.Notice)
	}
	s.ok(s.bench.LeaveStudy(s.ctx))
	s.refused(s.bench.BeginStudy(s.ctx, st.ID), "locked out")
}

// A study or check of a gauge that is taken out of use leaves the bench, and one of a gauge with a new entry goes by it.
func TestGaugeChangesUnderItsStudy(t *testing.T) {
	s := open(t)
	st := s.plan(batch.StudyPlan{Kind: batch.TypeOneStudy, About: "1 mm master", Appraisers: []string{"Wren Halloway"}, Trials: 25, References: []float64{1}, ToleranceMM: 0.5})
	s.ok(s.bench.BeginStudy(s.ctx, st.ID))
	s.change(height, func(g *batch.Gauge) { g.Name, g.Capture = "other name", "stream" })
	s.frame(height, 1.001, true)
	if now := s.bench.Snapshot().Study; now == nil || now.Taken != 1 || now.Gauge != "other name" {
		t.Fatalf("%+v, %+v", now, s.bench.Snapshot().Notice)
	}
	s.ok(s.bench.CheckGauge(s.ctx, height))
	s.change(height, func(g *batch.Gauge) { g.Masters = append(g.Masters, batch.Master{NominalMM: 2, LimitMM: 0.02}) })
	if now := s.bench.Snapshot().Check; now == nil || now.Of != 3 {
		t.Errorf("check %+v", now)
	}
	s.ok(s.db.RetireGauge(s.ctx, "Ilse Marchetti-Roe", height))
	s.ok(s.bench.ReloadGauges(s.ctx))
	if now := s.bench.Snapshot(); now.Study != nil || now.Check != nil {
		t.Errorf("study %+v, check %+v", now.Study, now.Check)
	}
}

// EndStudy fails as a reading does.
func (f *faultyRecord) EndStudy(ctx context.Context, by, studyID string, state batch.StudyState, reason string) error {
	if fail := f.fail.Load(); fail != nil {
		return *fail
	}
	return f.DB.EndStudy(ctx, by, studyID, state, reason)
}

// A study whose last reading was kept and whose end was not is ended by the next press, which reads nothing.
func TestStudyEndsOnceThereIsRoom(t *testing.T) {
	s := open(t)
	st := s.plan(batch.StudyPlan{Kind: batch.CrossedStudy, About: "two blocks", Parts: []string{"1", "2"}, Appraisers: []string{"Wren Halloway", "Ossian Reed"}, Trials: 2, Seed: 3, ToleranceMM: 0.5})
	s.ok(s.bench.BeginStudy(s.ctx, st.ID))
	full := error(record.ErrDiskFull)
	s.faulty.fail.Store(&full)
	of := s.bench.Snapshot().Study.Of
	for n := range of + 1 {
		s.frame(height, 0.2+float64(n%3)*0.1, true)
	}
	if now := s.bench.Snapshot(); now.Study == nil || now.Study.Taken != of || !now.Notice.Refused {
		t.Fatalf("study %+v, notice %+v", now.Study, now.Notice)
	}
	s.faulty.fail.Store(nil)
	s.frame(height, 0.7, true)
	if now := s.bench.Snapshot(); now.Study != nil {
		t.Errorf("study %+v, notice %+v", now.Study, now.Notice)
	}
	st, err := s.db.Study(s.ctx, st.ID)
	s.ok(err)
	if st.State != batch.StudyFinished || st.Readings != of {
		t.Errorf("%+v", st)
	}
}
