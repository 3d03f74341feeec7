package record

import (
	"context"
	"encoding/json"
	"fmt"

	"sagitta/batch"
)

// A study's newest event says how far it is; 'used' is kept beside it.
const selectStudy = `SELECT s.id, s.gauge_id, s.at, s.by, s.plan,
	coalesce(e.state, 'open'), coalesce(e.at, s.at), coalesce(e.by, s.by), coalesce(e.reason, ''),
	(SELECT count(*) FROM study_readings r WHERE r.study_id = s.id AND r.withdrawn = 0
		AND NOT EXISTS (SELECT 1 FROM study_readings o WHERE o.study_id = s.id AND o.supersedes = r.id)),
	coalesce(u.at, 0), coalesce(u.by, '')
	FROM studies s
	LEFT JOIN study_events e ON e.ord = (SELECT max(ord) FROM study_events WHERE study_id = s.id AND state <> 'used')
	LEFT JOIN study_events u ON u.ord = (SELECT max(ord) FROM study_events WHERE study_id = s.id AND state = 'used') `

func scanStudy(s scanner) (batch.GaugeStudy, error) {
	var st batch.GaugeStudy
	var at, stateAt, used int64
	var plan string
	if err := s.Scan(&st.ID, &st.GaugeID, &at, &st.By, &plan, &st.State, &stateAt, &st.StateBy, &st.Reason, &st.Readings, &used, &st.UsedBy); err != nil {
		return st, err
	}
	if err := json.Unmarshal([]byte(plan), &st.Plan); err != nil {
		return st, fmt.Errorf("%w: a study's plan: %w", ErrCorrupt, err)
	}
	st.At, st.StateAt, st.UsedSince = instant(at), instant(stateAt), instant(used)
	return st, nil
}

// StartStudy keeps a study's plan, frozen from now on. ErrInput where the plan is wrong, ErrUnknown without such a gauge.
func (db *DB) StartStudy(ctx context.Context, by, gaugeID string, plan batch.StudyPlan) (batch.GaugeStudy, error) {
	const what = "beginning a gauge study"
	if _, err := plan.Steps(); err != nil {
		return batch.GaugeStudy{}, fmt.Errorf("%s: %w: %v", what, ErrInput, err)
	}
	text, err := json.Marshal(plan)
	if err != nil {
		return batch.GaugeStudy{}, err
	}
	var st batch.GaugeStudy
	err = db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.PlanStudy); err != nil {
			return err
		}
		g, err := scanGauge(t.row(selectGauge+`WHERE g.gauge_id = ?`, gaugeID))
		if err != nil {
			return unknown(err, "gauge", gaugeID)
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO studies (id, station, at, by, gauge_id, plan) VALUES (?, ?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), by, gaugeID, string(text)); err != nil {
			return err
		}
		if err := t.audit(by, "gauge study begun", g.Name, "sha256 "+sumOf(text)); err != nil {
			return err
		}
		st, err = scanStudy(t.row(selectStudy+`WHERE s.id = ?`, id))
		return err
	})
	return st, err
}

// EndStudy finishes a study or gives it up. ErrState where it is ended already, ErrUnknown where there is none of that ID.
func (db *DB) EndStudy(ctx context.Context, by, studyID string, state batch.StudyState, reason string) error {
	return db.write(ctx, "ending a gauge study", func(t *tx) error {
		return t.studyEvent(by, studyID, string(state), reason, batch.StudyOpen)
	})
}

func (t *tx) studyEvent(by, studyID, state, reason string, needed batch.StudyState) error {
	st, err := scanStudy(t.row(selectStudy+`WHERE s.id = ?`, studyID))
	if err != nil {
		return unknown(err, "study", studyID)
	}
	if st.State != needed {
		return fmt.Errorf("%w: the study is %s since %s", ErrState, st.State, st.StateAt.Format("2006-01-02"))
	}
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO study_events (id, station, at, by, study_id, state, reason) VALUES (?, ?, ?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), by, studyID, state, reason); err != nil {
		return err
	}
	return t.audit(by, "gauge study "+state, studyID, reason)
}

// UseStudy makes a finished study's outcome the gauge's repeatability, a standard uncertainty in mm, in one step with the
// gauge's new entry. ErrUnknown where there is no study of that ID, ErrState where it is not finished or was used before,
// ErrInput where no gauge can have that repeatability.
func (db *DB) UseStudy(ctx context.Context, by, studyID string, repeatabilityMM float64) error {
	return db.write(ctx, "using a gauge study", func(t *tx) error {
		if err := t.may(by, batch.UseStudy); err != nil {
			return err
		}
		if st, err := scanStudy(t.row(selectStudy+`WHERE s.id = ?`, studyID)); err == nil && st.UsedBy != "" {
			return fmt.Errorf("%w: %s has used the study already, on %s", ErrState, st.UsedBy, st.UsedSince.Local().Format("2006-01-02 15:04"))
		}
		if err := t.studyEvent(by, studyID, "used", fmt.Sprintf("repeatability %g mm", repeatabilityMM), batch.StudyFinished); err != nil {
			return err
		}
		var gaugeID string
		if err := t.row(`SELECT gauge_id FROM studies WHERE id = ?`, studyID).Scan(&gaugeID); err != nil {
			return err
		}
		g, err := scanGauge(t.row(selectGauge+`WHERE g.gauge_id = ?`, gaugeID))
		if err != nil {
			return err
		}
		g.RepeatabilityU = repeatabilityMM
		if faults := g.Check(); len(faults) > 0 {
			return fmt.Errorf("%w: %w", ErrInput, faults[0])
		}
		_, err = t.saveGauge(by, "gauge's repeatability from its study", "", g)
		return err
	})
}

// Study returns one study. ErrUnknown where there is none of that ID.
func (db *DB) Study(ctx context.Context, id string) (batch.GaugeStudy, error) {
	st, err := scanStudy(db.reader.QueryRowContext(ctx, selectStudy+`WHERE s.id = ?`, id))
	return st, unknown(err, "study", id)
}

// Studies returns a gauge's studies, the newest first; of all gauges where gaugeID is empty.
func (db *DB) Studies(ctx context.Context, gaugeID string) ([]batch.GaugeStudy, error) {
	all, err := list(ctx, db.reader, scanStudy, selectStudy+`WHERE s.gauge_id = ? OR ? = '' ORDER BY s.ord DESC`, gaugeID, gaugeID)
	return all, translate(err, "reading a gauge's studies")
}

const studyReadingColumns = `id, study_id, seq, at, by, part, appraiser, trial, reference_mm, value_mm, check_id, decoder, raw, sent, unit, withdrawn, coalesce(supersedes, '')`

func scanStudyReading(s scanner) (batch.StudyReading, error) {
	var r batch.StudyReading
	var at int64
	err := s.Scan(&r.ID, &r.StudyID, &r.Seq, &at, &r.By, &r.Part, &r.Appraiser, &r.Trial, &r.ReferenceMM, &r.ValueMM, &r.CheckID, &r.Decoder, &r.Raw, &r.Sent, &r.Unit, &r.Withdrawn, &r.Supersedes)
	r.At = instant(at)
	return r, err
}

// AppendStudyReading keeps one reading of an open study, durable when it returns. ErrState where the study is not open.
func (db *DB) AppendStudyReading(ctx context.Context, r batch.StudyReading) (batch.StudyReading, error) {
	err := db.write(ctx, "keeping a reading of a gauge study", func(t *tx) error {
		st, err := scanStudy(t.row(selectStudy+`WHERE s.id = ?`, r.StudyID))
		if err != nil {
			return unknown(err, "study", r.StudyID)
		}
		if st.State != batch.StudyOpen {
			return fmt.Errorf("%w: the study is %s", ErrState, st.State)
		}
		if r.ID, err = newID(); err != nil {
			return err
		}
		if r.At.IsZero() {
			r.At = t.at
		}
		r.At = instant(nanos(r.At))
		if err := t.row(`SELECT coalesce(max(seq), 0) + 1 FROM study_readings WHERE study_id = ?`, r.StudyID).Scan(&r.Seq); err != nil {
			return err
		}
		return t.exec(`INSERT INTO study_readings (id, station, at, by, study_id, seq, part, appraiser, trial, reference_mm, value_mm, check_id, decoder, raw, sent, unit, withdrawn, supersedes)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, r.ID, t.station, nanos(r.At), r.By, r.StudyID, r.Seq, r.Part, r.Appraiser, r.Trial,
			r.ReferenceMM, r.ValueMM, r.CheckID, r.Decoder, r.Raw, r.Sent, r.Unit, r.Withdrawn, optional(r.Supersedes))
	})
	if err != nil {
		return batch.StudyReading{}, err
	}
	return r, nil
}

// StudyReadings returns all readings of a study in their order, withdrawn ones included.
func (db *DB) StudyReadings(ctx context.Context, studyID string) ([]batch.StudyReading, error) {
	all, err := list(ctx, db.reader, scanStudyReading, `SELECT `+studyReadingColumns+` FROM study_readings WHERE study_id = ? ORDER BY seq`, studyID)
	return all, translate(err, "reading a gauge study's readings")
}
