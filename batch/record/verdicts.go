package record

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
)

// auditVerdict is what the chain calls a verdict; its detail ends with the digest (see verdictDetail).
const auditVerdict = "verdict"

const selectVerdict = `SELECT v.id, v.inspection_id, v.at, v.result, v.disposition, v.decided_by, v.reason, v.last_seq `

func scanVerdict(s scanner) (batch.Verdict, error) {
	var v batch.Verdict
	var at int64
	var result string
	if err := s.Scan(&v.ID, &v.InspectionID, &at, &result, &v.Disposition, &v.DecidedBy, &v.Reason, &v.LastSeq); err != nil {
		return v, err
	}
	v.At = instant(at)
	return v, parseResult(result, &v)
}

func parseResult(text string, v *batch.Verdict) error {
	v.Result = new(inspect.Result)
	if err := json.Unmarshal([]byte(text), v.Result); err != nil {
		return fmt.Errorf("%w: the result of verdict %s: %w", ErrCorrupt, v.ID, err)
	}
	return nil
}

// AppendVerdict keeps a verdict (its ID, At and LastSeq are filled in) with its result and one row for each characteristic, and finishes the inspection unless
// the disposition is remeasure; one commit. An empty Disposition is the result's. ErrInput: no result, no disposition, a
// person's disposition without the person or the reason; ErrUnknown: no such inspection; ErrState: it was abandoned, or the result carries
// over what CarriedOver does not give.
func (db *DB) AppendVerdict(ctx context.Context, v batch.Verdict) (batch.Verdict, error) {
	const what = "keeping the verdict"
	if err := completeVerdict(&v); err != nil {
		return batch.Verdict{}, fmt.Errorf("%s: %w", what, err)
	}
	result, err := json.Marshal(v.Result)
	if err != nil {
		return batch.Verdict{}, fmt.Errorf("%s: %w: %v", what, ErrInput, err)
	}
	err = db.write(ctx, what, func(t *tx) error {
		in, err := scanInspection(t.row(selectInspection+`WHERE i.id = ?`, v.InspectionID))
		if err != nil {
			return unknown(err, "inspection", v.InspectionID)
		}
		if in.State == batch.Abandoned {
			return fmt.Errorf("%w: attempt %d at %s was given up; start the next one", ErrState, in.Attempt, in.Serial)
		}
		if err := t.mayDecide(in, v); err != nil {
			return err
		}
		if v.At.IsZero() {
			v.At = t.at
		}
		v.At = instant(nanos(v.At))
		b, err := findBatch(ctx, t, `WHERE b.id = ?`, in.BatchID)
		if err != nil {
			return err
		}
		if err := t.row(`SELECT coalesce(max(seq), 0) FROM readings WHERE inspection_id = ?`, in.ID).Scan(&v.LastSeq); err != nil {
			return err
		}
		if err := t.insertVerdict(in, b.Spec.Spec, v, string(result)); err != nil {
			return err
		}
		by := cmp.Or(v.DecidedBy, in.Inspector)
		if v.Disposition != inspect.Remeasure && in.State != batch.Finished {
			err = t.event(by, in, batch.Finished, "")
		} else {
			err = t.refreshNeck(in.NeckID)
		}
		if err != nil {
			return err
		}
		_, sum, err := digest(ctx, t, digestVersion, t.row(selectDigested+`WHERE id = ?`, v.ID))
		if err != nil {
			return err
		}
		return t.audit(by, auditVerdict, attemptWords(in.Serial, in.Attempt), verdictDetail(&v, sum))
	})
	if err != nil {
		return batch.Verdict{}, err
	}
	db.file.judged()
	return v, nil
}

// mayDecide is as may, for a person's disposition, and lets through what nobody decided. A concession takes the right to it, from somebody who did
// not measure the neck, and where the specification asks for two, from a second such person.
func (t *tx) mayDecide(in batch.Inspection, v batch.Verdict) error {
	switch {
	case v.DecidedBy == "":
		return nil
	case v.Disposition != inspect.Concession:
		return t.may(v.DecidedBy, batch.Measure)
	}
	if err := t.may(v.DecidedBy, batch.Concede); err != nil {
		return err
	}
	const neck = `SELECT ?`
	if err := t.notMeasured(v.DecidedBy, batch.Concede, neck, in.NeckID); err != nil {
		return err
	}
	b, err := findBatch(t.ctx, t, `WHERE b.id = ?`, in.BatchID)
	if err != nil || !b.Spec.Spec.Routine.TwoSign {
		return err
	}
	second, err := t.second(v.DecidedBy, batch.Concede)
	if err != nil || second == "" {
		return err
	}
	return t.notMeasured(second, batch.Concede, neck, in.NeckID)
}

func attemptWords(serial string, attempt int) string {
	return fmt.Sprintf("%s, attempt %d", serial, attempt)
}

func completeVerdict(v *batch.Verdict) (err error) {
	if v.Result == nil {
		return fmt.Errorf("%w: found no result", ErrInput)
	}
	if v.Disposition == "" {
		v.Disposition = v.Result.Disposition
	}
	switch v.Disposition {
	case inspect.Pass, inspect.Rework, inspect.Repair, inspect.Remeasure:
	case inspect.Scrap, inspect.Concession:
		if v.DecidedBy == "" || v.Reason == "" {
			return fmt.Errorf("%w: %s is a person's decision and needs the person and a reason", ErrInput, v.Disposition)
		}
	default:
		return fmt.Errorf("%w: found disposition %q", ErrInput, v.Disposition)
	}
	if v.ID == "" {
		v.ID, err = newID()
	}
	return err
}

const (
	verdictColumns   = 15
	insertVerdictRow = `INSERT INTO verdicts (ord, id, station, at, inspection_id, disposition, decided_by, reason, result, failing, failing_words, relief_mm,
		relief_u, last_seq, gauges)`
)

func (t *tx) insertVerdict(in batch.Inspection, spec *inspect.Spec, v batch.Verdict, result string) error {
	var failing, words string
	if c := inspect.FirstFailing(v.Result); c != nil {
		failing, words = c.Name, inspect.Words(spec, *c)
	}
	relief, u := inspect.MeanRelief(v.Result)
	var ord int64
	if err := t.row(insertVerdictRow+` VALUES `+places(verdictColumns)+` RETURNING ord`,
		nil, v.ID, t.station, nanos(v.At), v.InspectionID, v.Disposition, v.DecidedBy, v.Reason, result, failing, words, relief, u, v.LastSeq, "").Scan(&ord); err != nil {
		return err
	}
	rows := characteristicRows{t: t}
	if err := rows.add(ord, v.Result.Characteristics); err != nil {
		return err
	}
	if err := rows.end(); err != nil {
		return err
	}
	return t.keepCarried(in, spec.WithDefaults(), &v)
}

// Verdicts returns an inspection's verdicts, the oldest first.
func (db *DB) Verdicts(ctx context.Context, inspectionID string) ([]batch.Verdict, error) {
	all, err := list(ctx, db.reader, scanVerdict, selectVerdict+`FROM verdicts v WHERE v.inspection_id = ? ORDER BY v.ord`, inspectionID)
	return all, translate(err, "reading an inspection's verdicts")
}

const selectLatestVerdict = selectVerdict + `FROM verdicts v WHERE v.inspection_id = ? ORDER BY v.ord DESC LIMIT 1`

// LatestVerdict returns an inspection's newest verdict, whether it counts or not; nil before one.
func (db *DB) LatestVerdict(ctx context.Context, inspectionID string) (*batch.Verdict, error) {
	return oneVerdict(ctx, db.reader, selectLatestVerdict, inspectionID)
}

// CountingVerdict returns an inspection's newest verdict where it counts (see batch.Inspection.Counts), else nil.
func (db *DB) CountingVerdict(ctx context.Context, inspectionID string) (*batch.Verdict, error) {
	return oneVerdict(ctx, db.reader, selectVerdict+`FROM counting_verdicts v WHERE v.inspection_id = ?`, inspectionID)
}

func oneVerdict(ctx context.Context, q querier, query, inspectionID string) (*batch.Verdict, error) {
	v, err := scanVerdict(q.QueryRowContext(ctx, query, inspectionID))
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, translate(err, "reading an inspection's verdict")
	}
	return &v, nil
}
