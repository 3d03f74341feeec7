package record

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

const selectDoubt = `SELECT d.ord, d.after_reading, d.upto_reading, d.id, d.inspection_id, i.attempt, i.inspector, i.at, d.gauge_id,
	coalesce((SELECT name FROM gauge_entries g WHERE g.gauge_id = d.gauge_id ORDER BY g.ord DESC LIMIT 1), d.gauge_id),
	coalesce((SELECT at FROM batch_closures b WHERE b.batch_id = d.batch_id), 0), d.neck_id, ` + causeColumns + `
	FROM doubts d JOIN inspections i ON i.id = d.inspection_id JOIN doubt_causes k ON k.id = d.cause_id `

// doubtRow is a doubt with the range of readings that it is about.
type doubtRow struct {
	batch.Doubt
	ord, after, upto int64
}

// bare says that the inspection was taken in without readings: there is nothing to measure again.
func (r *doubtRow) bare() bool { return r.after == r.upto }

func scanDoubt(s scanner) (doubtRow, error) {
	var d doubtRow
	var inspected, closed int64
	var c causeScan
	err := s.Scan(append([]any{&d.ord, &d.after, &d.upto, &d.ID, &d.InspectionID, &d.Attempt, &d.Inspector, &inspected, &d.GaugeID, &d.GaugeName,
		&closed, &d.Neck.ID}, c.into()...)...)
	if err != nil {
		return d, err
	}
	d.InspectedAt, d.BatchClosed = instant(inspected), instant(closed)
	d.Cause, err = c.cause()
	return d, err
}

// Doubts returns the inspections in doubt that the filter picks, the oldest first, with what rests on the readings in
// doubt and how each doubt was cleared.
func (db *DB) Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error) {
	const what = "reading the inspections in doubt"
	where, args := []string{"1 = 1"}, []any{}
	pick := func(column, value string) {
		if value != "" {
			where, args = append(where, column+" = ?"), append(args, value)
		}
	}
	pick("d.gauge_id", f.GaugeID)
	pick("d.batch_id", f.BatchID)
	pick("d.neck_id", f.NeckID)
	pick("d.cause_id", f.CauseID)
	if f.Standing {
		where = append(where, "d.ord IN (SELECT ord FROM standing_doubts)")
	}
	rows, err := list(ctx, db.reader, scanDoubt, selectDoubt+`WHERE `+strings.Join(where, " AND ")+` ORDER BY d.ord`, args...)
	if err != nil {
		return nil, translate(err, what)
	}
	all := make([]batch.Doubt, len(rows))
	specs := map[string]*inspect.Spec{} // by batch
	q := parsed{from: db.reader, known: map[string]*sql.Stmt{}}
	defer q.close()
	for i := range rows {
		if all[i], err = db.fillDoubt(ctx, &q, rows[i], specs, f.Impact); err != nil {
			return nil, translate(err, what)
		}
	}
	return all, nil
}

// fillDoubt adds the neck, the points, what rests on them and how the doubt ended, and on demand what it means where it did not. specs
// are those read so far, by the batch's number.
func (db *DB) fillDoubt(ctx context.Context, q querier, r doubtRow, specs map[string]*inspect.Spec, impact bool) (batch.Doubt, error) {
	d := r.Doubt
	var err error
	if d.Neck, err = scanNeckRow(q.QueryRowContext(ctx, selectNeckRow+`WHERE n.id = ?`, d.Neck.ID)); err != nil {
		return d, err
	}
	readings, err := readingsOf(ctx, q, d.InspectionID)
	if err != nil {
		return d, err
	}
	doubted, err := doubtedBy(ctx, q, &r)
	if err != nil {
		return d, err
	}
	d.Points = pointsOf(readings, doubted)
	spec := specs[d.Neck.BatchNumber]
	if spec == nil {
		b, err := db.Batch(ctx, d.Neck.BatchNumber)
		if err != nil {
			return d, err
		}
		spec = b.Spec.Spec.WithDefaults()
		specs[d.Neck.BatchNumber] = spec
	}
	v, err := oneVerdict(ctx, q, selectLatestVerdict, d.InspectionID)
	if err != nil {
		return d, err
	}
	if v != nil {
		d.Disposition = v.Disposition
		d.RestOn = batch.RestOn(spec, v.Result, d.Points)
	}
	into, attempt, err := carrier(ctx, q, &r)
	if err != nil {
		return d, err
	}
	if into != nil { // what still rests on them is what was carried over
		d.CarriedInto, d.Disposition = attempt, into.Disposition
		d.RestOn = slices.DeleteFunc(batch.RestOn(spec, into.Result, d.Points), func(c inspect.Characteristic) bool {
			return c.CarriedFrom == nil || c.CarriedFrom.Attempt != d.Attempt
		})
	}
	if err := clearingOf(ctx, q, &d, r, replacedAt(readings, doubted)); err != nil || !impact || d.Cleared != "" {
		return d, err
	}
	d.Impact, err = db.impactOf(ctx, q, &r, &d, doubted, readings, v, spec)
	return d, err
}

// doubtedBy are the IDs of the readings that a doubt is about, those that no longer stand among them.
func doubtedBy(ctx context.Context, q querier, r *doubtRow) (map[string]bool, error) {
	all, err := list(ctx, q, scanID,
		`SELECT id FROM readings WHERE inspection_id = ?1 AND (?2 = '' OR gauge_id = ?2) AND ord > ?3 AND ord <= ?4 AND kind <> 'sweep'`, r.InspectionID, r.GaugeID, r.after, r.upto)
	ids := make(map[string]bool, len(all))
	for _, id := range all {
		ids[id] = true
	}
	return ids, err
}

// pointsOf are the points of the readings that stand and whose IDs are given, in the order in which they were taken.
func pointsOf(readings []batch.Reading, ids map[string]bool) (points []batch.Point) {
	for _, r := range batch.Standing(readings) {
		if ids[r.ID] && !r.Withdrawn {
			points = append(points, r.Point)
		}
	}
	return points
}

// replacedAt is when the last of the readings whose IDs are given was replaced or taken back, zero where none was.
func replacedAt(readings []batch.Reading, ids map[string]bool) (at time.Time) {
	for _, r := range readings {
		if ids[r.Supersedes] && r.At.After(at) {
			at = r.At
		}
	}
	return at
}

// clearingOf says what ended a doubt, if anything did; replaced is when the last of its readings was.
func clearingOf(ctx context.Context, q querier, d *batch.Doubt, r doubtRow, replaced time.Time) error {
	var at int64
	err := q.QueryRowContext(ctx, `SELECT at, by, reason FROM doubt_clearances WHERE neck_id = ? AND last_doubt >= ? ORDER BY ord LIMIT 1`, d.Neck.ID, r.ord).
		Scan(&at, &d.ClearedBy, &d.Reason)
	if err == nil {
		d.Cleared, d.ClearedAt = batch.ClearedPerson, instant(at)
		return nil
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	var outcome string
	err = q.QueryRowContext(ctx, `SELECT c.at, c.by, c.why, a.outcome FROM doubt_answers a JOIN gauge_checks c ON c.id = a.check_id
		WHERE a.cause_id = ? AND a.outcome <> 'not judged' ORDER BY a.ord LIMIT 1`, d.Cause.ID).Scan(&at, &d.ClearedBy, &d.Reason, &outcome)
	if err == nil {
		d.Cleared, d.ClearedAt = batch.ClearedProved, instant(at)
		if outcome == "failed" {
			d.Cleared = batch.ClearedFailed
		}
		return nil
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	err = q.QueryRowContext(ctx, `SELECT v.at, l.inspector FROM inspections l JOIN counting_verdicts v ON v.inspection_id = l.id
		WHERE l.neck_id = ?1 AND l.attempt > ?2 AND NOT EXISTS (`+carriedOn+`) ORDER BY v.ord LIMIT 1`,
		d.Neck.ID, d.Attempt, d.InspectionID, d.GaugeID, r.after, r.upto).Scan(&at, &d.ClearedBy)
	if err == nil {
		d.Cleared, d.ClearedAt = batch.ClearedAttempt, instant(at)
		return nil
	}
	if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if len(d.Points) == 0 && !r.bare() {
		d.Cleared, d.ClearedAt = batch.ClearedMeasured, replaced
		if replaced.Before(d.Cause.At) { // before anybody doubted them
			d.ClearedAt = d.Cause.At
		}
	}
	return nil
}

// DoubtedReadings returns the IDs of an inspection's readings that are in a doubt that stands, in the order of taking.
func (db *DB) DoubtedReadings(ctx context.Context, inspectionID string) ([]string, error) {
	ids, err := list(ctx, db.reader, scanID, `SELECT DISTINCT r.id FROM standing_doubts d JOIN readings r ON r.inspection_id = d.inspection_id
		AND (d.gauge_id = '' OR r.gauge_id = d.gauge_id)
		AND r.ord > d.after_reading AND r.ord <= d.upto_reading WHERE d.inspection_id = ? AND r.withdrawn = 0 AND r.kind <> 'sweep' ORDER BY r.seq`, inspectionID)
	return ids, translate(err, "reading an inspection's readings in doubt")
}
