package record

import (
	"context"
	"fmt"
	"iter"

	"sagitta/batch"
)

// The queries behind the streams. CROSS JOIN keeps SQLite to the order written, in which the indexes give the rows sorted.
const (
	selectBatchNecks    = selectNeckRow + `WHERE n.batch_id = ? ORDER BY n.ord`
	selectBatchReadings = `SELECT ` + readingColumns + `, n.serial, i.attempt,
		coalesce((SELECT name FROM gauge_entries g WHERE g.gauge_id = r.gauge_id ORDER BY g.ord DESC LIMIT 1), r.gauge_id)
		FROM necks n CROSS JOIN inspections i ON i.neck_id = n.id CROSS JOIN readings r ON r.inspection_id = i.id
		WHERE n.batch_id = ? ORDER BY n.ord, i.attempt, i.station, r.seq`
	selectBatchRework = `SELECT ` + reworkColumns + `, n.serial, coalesce(i.attempt, 0) FROM necks n CROSS JOIN standing_rework a ON a.neck_id = n.id
		LEFT JOIN inspections i ON i.id = a.inspection_id WHERE n.batch_id = ? ORDER BY n.ord, a.ord`
)

// stream yields a query's rows one by one; a failure is the last thing it yields.
func stream[T any](ctx context.Context, db *DB, what string, scan func(scanner) (T, error), query string, args ...any) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		rows, err := db.reader.QueryContext(ctx, query, args...)
		if err != nil {
			yield(none, translate(err, what))
			return
		}
		defer func() { _ = rows.Close() }()
		for rows.Next() {
			one, err := scan(rows)
			if err != nil {
				yield(none, translate(err, what))
				return
			}
			if !yield(one, nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(none, translate(err, what))
		}
	}
}

// EachNeck yields a batch's necks in order of registration, each with its attempts and their newest verdicts. One neck is
// held at a time. The first error ends it.
func (db *DB) EachNeck(ctx context.Context, batchID string) iter.Seq2[batch.NeckReport, error] {
	return func(yield func(batch.NeckReport, error) bool) {
		for row, err := range stream(ctx, db, "reading a batch's necks", scanNeckRow, selectBatchNecks, batchID) {
			report := batch.NeckReport{NeckRow: row}
			if err == nil && row.Attempts > 0 {
				report.Inspections, err = db.attempts(ctx, row.ID)
			}
			if err == nil && row.InDoubt {
				report.Doubts, err = db.Doubts(ctx, batch.DoubtFilter{NeckID: row.ID, Standing: true})
			}
			if !yield(report, err) || err != nil {
				return
			}
		}
	}
}

func (db *DB) attempts(ctx context.Context, neckID string) ([]batch.InspectionReport, error) {
	all, err := db.Inspections(ctx, neckID)
	if err != nil {
		return nil, err
	}
	reports := make([]batch.InspectionReport, len(all))
	for i, in := range all {
		v, err := db.CountingVerdict(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		reports[i] = batch.InspectionReport{Inspection: in, Verdict: v}
	}
	return reports, nil
}

// EachReading yields a batch's readings, superseded ones included: necks in order of registration, attempts and readings
// in order. The first error ends it.
func (db *DB) EachReading(ctx context.Context, batchID string) iter.Seq2[batch.ReadingReport, error] {
	return stream(ctx, db, "reading a batch's readings", func(s scanner) (batch.ReadingReport, error) {
		var r batch.ReadingReport
		var at int64
		err := s.Scan(append(readingInto(&r.Reading, &at), &r.Serial, &r.Attempt, &r.GaugeName)...)
		r.At = instant(at)
		return r, err
	}, selectBatchReadings, batchID)
}

// EachRework yields what was done to a batch's necks: necks in order of registration, actions in order. The first error
// ends it.
func (db *DB) EachRework(ctx context.Context, batchID string) iter.Seq2[batch.ReworkReport, error] {
	return stream(ctx, db, "reading a batch's rework", func(s scanner) (batch.ReworkReport, error) {
		var r batch.ReworkReport
		var at int64
		err := s.Scan(append(reworkInto(&r.ReworkAction, &at), &r.Serial, &r.Attempt)...)
		r.At = instant(at)
		return r, err
	}, selectBatchRework, batchID)
}

// BatchGauges returns the gauges that a batch's readings came from with all their checks, in the order in which they were
// entered; before the first reading, every gauge in use. ErrUnknown where there is no such batch.
func (db *DB) BatchGauges(ctx context.Context, batchID string) ([]batch.GaugeReport, error) {
	what := "reading a batch's gauges"
	used, err := list(ctx, db.reader, func(s scanner) (id string, err error) { return id, s.Scan(&id) },
		`SELECT DISTINCT r.gauge_id FROM necks n CROSS JOIN inspections i ON i.neck_id = n.id CROSS JOIN readings r ON r.inspection_id = i.id WHERE n.batch_id = ?`, batchID)
	if err != nil {
		return nil, translate(err, what)
	}
	if len(used) == 0 {
		var n int
		if err := db.reader.QueryRowContext(ctx, `SELECT count(*) FROM batches WHERE id = ?`, batchID).Scan(&n); err != nil {
			return nil, translate(err, what)
		}
		if n == 0 {
			return nil, fmt.Errorf("%s: batch %q: %w", what, batchID, ErrUnknown)
		}
	}
	inBatch := map[string]bool{}
	for _, id := range used {
		inBatch[id] = true
	}
	gauges, err := db.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	var reports []batch.GaugeReport
	for _, g := range gauges {
		if len(used) > 0 && !inBatch[g.ID] || len(used) == 0 && !g.RetiredAt.IsZero() {
			continue
		}
		checks, err := db.GaugeChecks(ctx, g.ID)
		if err != nil {
			return nil, err
		}
		certificates, err := db.Certificates(ctx, g.ID)
		if err != nil {
			return nil, err
		}
		reports = append(reports, batch.GaugeReport{Gauge: g, Checks: checks, Certificates: certificates})
	}
	return reports, nil
}
