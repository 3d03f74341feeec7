package bench

import (
	"context"
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
func (s studying) shown(_ *Bench, shot *Snapshot) {
	out := &Study{ID: s.study.ID, GaugeID: s.gauge.ID, Gauge: s.gauge.Name, About: s.study.Plan.About, Taken: len(s.standing), Of: len(s.steps)}
	if step := s.next(); step != nil {
		out.Appraiser, out.Seen, out.ReferenceMM = step.Appraiser, tell.StudyStep(s.study.Plan.Kind, *step, unit.Millimetre), step.ReferenceMM
		if s.study.Plan.Kind == batch.CrossedStudy {
			out.HandOver = step.Part
		}
	}
	shot.Study = out
}

// BeginStudy takes an open study to the bench, where it goes on at the first reading that is still missing. Refused
// while a neck is being measured or a gauge is checked, and with a gauge that is locked out.
func (b *Bench) BeginStudy(ctx context.Context, studyID string) error {
	return b.does(ctx, toStudy, func() error {
		run, err := b.readStudy(ctx, studyID)
		if err != nil {
			return err
		}
		if n := b.neck(); n != nil { // its verdict is recorded
			b.remember(n)
		}
		b.studied = run.gauge.Name
		b.become(studying{run})
		if run.next() == nil { // the station stopped after its last reading
			return b.endStudy(ctx, run)
		}
		return nil
	})
}

// readStudy reads a study that can go on now.
func (b *Bench) readStudy(ctx context.Context, id string) (*studyRun, error) {
	st, err := b.studies.Study(ctx, id)
	if err != nil {
		return nil, err
	}
	g, err := b.inUse(st.GaugeID)
	if err != nil {
		return nil, err
	}
	if st.State != batch.StudyOpen {
		return nil, batch.Conflict.Errorf("this study is %s: plan a new one on the gauge's page", st.State)
	}
	if why := b.locked(g); why != "" {
		return nil, batch.Conflict.Errorf("the %s is locked out: %s. Check it before it is studied", g.Name, why)
	}
	run := &studyRun{gauge: *g, study: st}
	if run.steps, err = st.Plan.Steps(); err != nil {
		return nil, err
	}
	all, err := b.studies.StudyReadings(ctx, id)
	run.standing = batch.StandingStudy(all)
	return run, err
}

// LeaveStudy takes the study off the bench; what was read is kept and it can go on later.
func (b *Bench) LeaveStudy(ctx context.Context) error {
	return b.does(ctx, toLeave, func() error {
		s := b.base().(studying)
		b.become(b.rest())
		b.say(false, fmt.Sprintf("The study of the %s waits: %d of %s are kept. It goes on from the gauge's page.",
			s.gauge.Name, len(s.standing), tell.Count(len(s.steps), "reading")))
		return nil
	})
}

// press uses one frame for the study's next step.
func (s studying) press(ctx context.Context, b *Bench, r devices.Reading) error {
	if b.bouncedKey(&s.gauge, r) {
		return batch.Conflict.Errorf("the data key of the %s bounced: its second frame was not used for the study", s.gauge.Name)
	}
	step := s.next()
	if step == nil { // its end could not be recorded
		return b.endStudy(ctx, s.studyRun)
	}
	if why := b.locked(&s.gauge); why != "" {
		return batch.Conflict.Errorf("the %s is locked out: %s. Leave the study, check the gauge, then go on", s.gauge.Name, why)
	}
	if words, still := b.standsStill(&s.gauge, r); still {
		return batch.Conflict.Errorf("the %s has not left its place since it read %s: this was not used for its study. Lift it and set it down again", s.gauge.Name, words)
	}
	b.stood(&s.gauge, r, "the trial before")
	zero, check := b.zero(s.gauge.ID)
	kept, err := b.studies.AppendStudyReading(ctx, batch.StudyReading{
		StudyID: s.study.ID, By: b.inspector, At: r.At, Part: step.Part, Appraiser: step.Appraiser, Trial: step.Trial, ReferenceMM: step.ReferenceMM,
		ValueMM: s.gauge.Correct(r.Value.MM, 0, zero), CheckID: check, Decoder: r.Decoder, Raw: r.Raw, Sent: r.Value.Digits, Unit: r.Value.Unit,
	})
	if err != nil {
		return fmt.Errorf("the reading of the study was NOT recorded: %w", err)
	}
	b.sounds(Taken)
	s.standing = append(s.standing, kept)
	b.notice, b.live.Fresh = nil, false
	if s.next() == nil {
		return b.endStudy(ctx, s.studyRun)
	}
	return nil
}

// endStudy closes a study whose readings are complete.
func (b *Bench) endStudy(ctx context.Context, s *studyRun) error {
	if err := b.studies.EndStudy(ctx, b.inspector, s.study.ID, batch.StudyFinished, ""); err != nil {
		return err
	}
	b.become(b.rest())
	b.say(false, fmt.Sprintf("The study of the %s is complete: %d readings. Its result stands on the gauge's page.", s.gauge.Name, len(s.standing)))
	return nil
}

// undo takes the study's newest reading back; the record keeps it.
func (s studying) undo(ctx context.Context, b *Bench) error {
	if len(s.standing) == 0 {
		return batch.Conflict.Errorf("nothing has been taken yet in this study")
	}
	last := s.standing[len(s.standing)-1]
	_, err := b.studies.AppendStudyReading(ctx, batch.StudyReading{
		StudyID: s.study.ID, By: b.inspector, Part: last.Part, Appraiser: last.Appraiser, Trial: last.Trial, ReferenceMM: last.ReferenceMM,
		Withdrawn: true, Supersedes: last.ID,
	})
	if err != nil {
		return err
	}
	s.standing = s.standing[:len(s.standing)-1]
	b.sounds(TakenBack)
	b.say(false, "The last reading of the study is taken back. Measure it again.")
	return nil
}
