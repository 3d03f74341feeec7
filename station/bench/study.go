package bench

import (
	"context"
	"errors"
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect/unit"
)

// studyRun is a gauge study in progress at the bench; the gauge's next readings belong to it.
type studyRun struct {
	gauge    batch.Gauge
	study    batch.GaugeStudy
	steps    []batch.StudyStep
	standing []batch.StudyReading
}

// Study is the gauge study on the bench as the page shows it.
type Study struct {
	ID, GaugeID, Gauge string
	About              string  // what is measured
	Appraiser          string  // whose turn it is
	Seen               string  // what the appraiser may know of the part: "trial 2, part 3 of 10"
	HandOver           string  // for whoever hands the parts over: which one it is; "" for masters
	ReferenceMM        float64 // of the master asked for; 0 in a crossed study
	Taken, Of          int
}

// next is the step asked for.
func (s *studyRun) next() *batch.StudyStep { return batch.NextStep(s.steps, s.standing) }

// shown is the study's part of the snapshot.
func (s *studyRun) shown() *Study {
	out := &Study{ID: s.study.ID, GaugeID: s.gauge.ID, Gauge: s.gauge.Name, About: s.study.Plan.About, Taken: len(s.standing), Of: len(s.steps)}
	if step := s.next(); step != nil {
		out.Appraiser, out.Seen, out.ReferenceMM = step.Appraiser, tell.StudyStep(s.study.Plan.Kind, *step, unit.Millimetre), step.ReferenceMM
		if s.study.Plan.Kind == batch.CrossedStudy {
			out.HandOver = step.Part
		}
	}
	return out
}

// BeginStudy takes an open study to the bench, where it goes on at the first reading that is still missing. Refused
// while a neck is being measured or a gauge is checked, and with a gauge that is locked out.
func (b *Bench) BeginStudy(ctx context.Context, studyID string) error {
	return b.do(func() error {
		switch {
		case b.unsettled():
			return fmt.Errorf("%s has no verdict yet: finish or park it before a gauge study", b.job.inspection.Serial)
		case b.inspector == "":
			return errors.New("nobody has signed on at the bench: choose the inspector first")
		case b.check != nil:
			return fmt.Errorf("the %s is being checked: finish its check first", b.check.gauge.Name)
		}
		st, err := b.rec.Study(ctx, studyID)
		if err != nil {
			return err
		}
		g := b.gauge(st.GaugeID)
		if g == nil {
			return errors.New("the gauge of this study is not in use at the station")
		}
		if st.State != batch.StudyOpen {
			return fmt.Errorf("this study is %s: plan a new one on the gauge's page", st.State)
		}
		if why := b.locked(g); why != "" {
			return fmt.Errorf("the %s is locked out: %s. Check it before it is studied", g.Name, why)
		}
		run := &studyRun{gauge: *g, study: st}
		if run.steps, err = st.Plan.Steps(); err != nil {
			return err
		}
		if err := b.readStudy(ctx, run); err != nil {
			return err
		}
		b.study = run
		if b.job != nil { // its verdict is recorded
			b.remember()
			b.job, b.held = nil, nil
		}
		if run.next() == nil { // the station stopped after its last reading
			return b.endStudy(ctx)
		}
		return nil
	})
}

func (b *Bench) readStudy(ctx context.Context, run *studyRun) error {
	all, err := b.rec.StudyReadings(ctx, run.study.ID)
	run.standing = batch.StandingStudy(all)
	return err
}

// LeaveStudy takes the study off the bench; what was read is kept and it can go on later.
func (b *Bench) LeaveStudy(context.Context) error {
	return b.do(func() error {
		if b.study == nil {
			return errNoStudy
		}
		b.say(false, fmt.Sprintf("The study of the %s waits: %d of %d readings are kept. It goes on from the gauge's page.",
			b.study.gauge.Name, len(b.study.standing), len(b.study.steps)))
		b.study = nil
		return nil
	})
}

// noStudy refuses what would take the gauges away from a study on the bench.
func (b *Bench) noStudy() error {
	if b.study == nil {
		return nil
	}
	return fmt.Errorf("a study of the %s is on the bench: leave it before a neck is measured", b.study.gauge.Name)
}

var errNoStudy = errors.New("no gauge study is on the bench")

// studyPress uses one frame for the study's next step.
func (b *Bench) studyPress(ctx context.Context, r devices.Reading) error {
	s := b.study
	st := b.state(s.gauge.ID)
	previous := st.lastKey
	st.lastKey = r
	if bounced(previous, r) {
		return fmt.Errorf("the data key of the %s bounced: its second frame was not used for the study", s.gauge.Name)
	}
	if why := b.locked(b.gauge(s.gauge.ID)); why != "" {
		return fmt.Errorf("the %s is locked out: %s. Leave the study, check the gauge, then go on", s.gauge.Name, why)
	}
	step := s.next()
	zero, check := b.zero(s.gauge.ID)
	kept, err := b.rec.AppendStudyReading(ctx, batch.StudyReading{
		StudyID: s.study.ID, By: b.inspector, At: r.At, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ReferenceMM: step.ReferenceMM,
		ValueMM: s.gauge.Correct(r.Value.MM, 0, zero), CheckID: check, Decoder: r.Decoder, Raw: r.Raw, Sent: r.Value.Digits, Unit: r.Value.Unit,
	})
	if err != nil {
		return fmt.Errorf("the reading of the study was NOT recorded: %w", err)
	}
	s.standing = append(s.standing, kept)
	b.notice, b.live.Fresh = nil, false
	if s.next() == nil {
		return b.endStudy(ctx)
	}
	return nil
}

// endStudy closes a study whose readings are complete.
func (b *Bench) endStudy(ctx context.Context) error {
	s := b.study
	if err := b.rec.EndStudy(ctx, b.inspector, s.study.ID, batch.StudyFinished, ""); err != nil {
		return err
	}
	b.study = nil
	b.say(false, fmt.Sprintf("The study of the %s is complete: %d readings. Its result stands on the gauge's page.", s.gauge.Name, len(s.standing)))
	return nil
}

// undoStudy takes the study's newest reading back; the record keeps it.
func (b *Bench) undoStudy(ctx context.Context) error {
	s := b.study
	if len(s.standing) == 0 {
		return errors.New("nothing has been taken yet in this study")
	}
	last := s.standing[len(s.standing)-1]
	_, err := b.rec.AppendStudyReading(ctx, batch.StudyReading{
		StudyID: s.study.ID, By: b.inspector, Part: last.Part, Appraiser: last.Appraiser, Trial: last.Trial, ReferenceMM: last.ReferenceMM,
		Withdrawn: true, Supersedes: last.ID,
	})
	if err != nil {
		return err
	}
	s.standing = s.standing[:len(s.standing)-1]
	b.say(false, "The last reading of the study is taken back. Measure it again.")
	return nil
}
