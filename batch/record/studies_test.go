package record

import (
	"testing"

	"sagitta/batch"
)

func crossedPlan() batch.StudyPlan {
	return batch.StudyPlan{Kind: batch.CrossedStudy, About: "crown of fret 7", Parts: []string{"1", "2"}, Appraisers: []string{"A", "B"}, Trials: 2, Seed: 7, ToleranceMM: 0.16}
}

// A study's life: planned, measured, a reading taken back, finished, used; every step refused at the wrong time.
func TestStudy(t *testing.T) {
	s := newShop(t)
	g := must(s.SaveGauge(s.ctx, "Mara Quill", batch.Gauge{Name: "carriage indicator", Sense: 1, RepeatabilityU: 0.003}))(t)
	_, err := s.StartStudy(s.ctx, "Mara Quill", g.ID, batch.StudyPlan{Kind: batch.CrossedStudy, Parts: []string{"1"}, Appraisers: []string{"A"}, Trials: 2})
	wantErr(t, err, ErrInput, "at least 2 parts")
	_, err = s.StartStudy(s.ctx, "Mara Quill", "nothing", crossedPlan())
	wantErr(t, err, ErrUnknown, "nothing")

	st := must(s.StartStudy(s.ctx, "Mara Quill", g.ID, crossedPlan()))(t)
	steps := must(st.Plan.Steps())(t)
	if len(steps) != 8 || st.State != batch.StudyOpen {
		t.Fatalf("%d steps, %s", len(steps), st.State)
	}
	for i := range steps {
		standing := batch.StandingStudy(must(s.StudyReadings(s.ctx, st.ID))(t))
		next := batch.NextStep(steps, standing)
		r := must(s.AppendStudyReading(s.ctx, batch.StudyReading{StudyID: st.ID, By: next.Appraiser, Part: next.Part, Appraiser: next.Appraiser, Trial: next.Trial, ValueMM: float64(i), Raw: []byte("+1"), Sent: "+1"}))(t)
		if i == 3 { // taken back: asked for again
			must(s.AppendStudyReading(s.ctx, batch.StudyReading{StudyID: st.ID, Part: r.Part, Appraiser: r.Appraiser, Trial: r.Trial, Withdrawn: true, Supersedes: r.ID}))(t)
			again := batch.NextStep(steps, batch.StandingStudy(must(s.StudyReadings(s.ctx, st.ID))(t)))
			if again.Part != r.Part || again.Appraiser != r.Appraiser || again.Trial != r.Trial {
				t.Errorf("after taking %+v back %+v is asked for", r, again)
			}
			must(s.AppendStudyReading(s.ctx, batch.StudyReading{StudyID: st.ID, Part: r.Part, Appraiser: r.Appraiser, Trial: r.Trial, ValueMM: 33}))(t)
		}
	}
	wantErr(t, s.UseStudy(s.ctx, "Mara Quill", st.ID, 0.001), ErrState, "open")
	s.ok(s.EndStudy(s.ctx, "Mara Quill", st.ID, batch.StudyFinished, ""))
	wantErr(t, s.EndStudy(s.ctx, "Mara Quill", st.ID, batch.StudyGivenUp, "late"), ErrState, "finished")
	_, err = s.AppendStudyReading(s.ctx, batch.StudyReading{StudyID: st.ID})
	wantErr(t, err, ErrState, "finished")
	s.ok(s.UseStudy(s.ctx, "Mara Quill", st.ID, 0.0017))
	wantErr(t, s.UseStudy(s.ctx, "Ilse Marchetti-Roe", st.ID, 0.0018), ErrState, "Mara Quill has used the study already, on 20")

	st = must(s.Study(s.ctx, st.ID))(t)
	if st.State != batch.StudyFinished || st.UsedBy != "Mara Quill" || st.Readings != 8 {
		t.Errorf("%+v", st)
	}
	if all := must(s.Studies(s.ctx, g.ID))(t); len(all) != 1 || all[0].ID != st.ID {
		t.Errorf("%+v", all)
	}
	if g = must(s.Gauges(s.ctx))(t)[0]; g.RepeatabilityU != 0.0017 {
		t.Errorf("the gauge's repeatability is %g", g.RepeatabilityU)
	}
	s.ok(s.VerifyAudit(s.ctx))
}
