package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"sagitta/batch"
)

const selectAlarm = `SELECT a.id, a.at, a.kind, a.subject, coalesce(a.batch_id, ''), coalesce(b.number, ''), a.gauge_id, a.about, a.serial, a.seen, a.words, a.look_at,
	coalesce(k.at, 0), coalesce(k.by, ''), coalesce(k.note, '')
	FROM alarms a LEFT JOIN batches b ON b.id = a.batch_id LEFT JOIN alarm_acknowledgements k ON k.alarm_id = a.id `

func scanAlarm(s scanner) (batch.Alarm, error) {
	var a batch.Alarm
	var at, acknowledged int64
	err := s.Scan(&a.ID, &at, &a.Kind, &a.Subject, &a.BatchID, &a.BatchNumber, &a.GaugeID, &a.About, &a.Serial, &a.Seen, &a.Words, &a.LookAt,
		&acknowledged, &a.AcknowledgedBy, &a.Note)
	a.At, a.AcknowledgedAt = instant(at), instant(acknowledged)
	return a, err
}

// RaiseAlarm keeps an alarm, unless its subject has an open one, or raised one fewer than batch.QuietFor necks or checks
// ago; raised says whether it was kept.
func (db *DB) RaiseAlarm(ctx context.Context, a batch.Alarm) (raised bool, err error) {
	err = db.write(ctx, "raising an alarm", func(t *tx) error {
		last, err := scanAlarm(t.row(selectAlarm+`WHERE a.subject = ? ORDER BY a.ord DESC LIMIT 1`, a.Subject))
		switch {
		case errors.Is(err, sql.ErrNoRows):
		case err != nil:
			return err
		case last.AcknowledgedAt.IsZero() || a.Seen < last.Seen+batch.QuietFor:
			return nil
		}
		id, err := newID()
		if err != nil {
			return err
		}
		raised = true
		if err := t.exec(`INSERT INTO alarms (id, station, at, kind, subject, batch_id, gauge_id, about, serial, seen, words, look_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(t.at), a.Kind, a.Subject, optional(a.BatchID), a.GaugeID, a.About, a.Serial, a.Seen, a.Words, a.LookAt); err != nil {
			return err
		}
		return t.audit("station", "alarm", a.Subject, a.Words)
	})
	return raised && err == nil, err
}

// AcknowledgeAlarm notes who has seen an alarm and what came of it. ErrInput without a name or a note, ErrUnknown without
// such an alarm, ErrState where it is acknowledged already.
func (db *DB) AcknowledgeAlarm(ctx context.Context, by, id, note string) error {
	const what = "acknowledging an alarm"
	if by = strings.TrimSpace(by); by == "" {
		return fmt.Errorf("%s: %w: nobody is named", what, ErrInput)
	}
	if note = strings.TrimSpace(note); note == "" {
		return fmt.Errorf("%s: %w: a note is missing: say what was looked at and what was found", what, ErrInput)
	}
	return db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.Acknowledge); err != nil {
			return err
		}
		a, err := scanAlarm(t.row(selectAlarm+`WHERE a.id = ?`, id))
		if err != nil {
			return unknown(err, "alarm", id)
		}
		if !a.AcknowledgedAt.IsZero() {
			return fmt.Errorf("%w: %s acknowledged it on %s", ErrState, a.AcknowledgedBy, a.AcknowledgedAt.Format("2006-01-02"))
		}
		key, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO alarm_acknowledgements (id, station, at, by, alarm_id, note) VALUES (?, ?, ?, ?, ?, ?)`, key, t.station, nanos(t.at), by, id, note); err != nil {
			return err
		}
		return t.audit(by, "alarm acknowledged", a.Subject, note)
	})
}

// OpenAlarms returns the alarms that nobody has acknowledged, the newest first; a matter has one at most.
func (db *DB) OpenAlarms(ctx context.Context) ([]batch.Alarm, error) {
	all, err := list(ctx, db.reader, scanAlarm, selectAlarm+`WHERE k.ord IS NULL ORDER BY a.ord DESC`)
	return all, translate(err, "reading the alarms")
}

// BatchAlarms returns a batch's alarms, the newest first, acknowledged ones included; each of those was acknowledged by hand
// before the next of its matter was raised.
func (db *DB) BatchAlarms(ctx context.Context, batchID string) ([]batch.Alarm, error) {
	all, err := list(ctx, db.reader, scanAlarm, selectAlarm+`WHERE a.batch_id = ? ORDER BY a.ord DESC`, batchID)
	return all, translate(err, "reading a batch's alarms")
}

// FreezeBase states the points that a batch's control limits are computed from, counted from 1 in the order of
// inspection, both ends included; it supersedes the base before. ErrInput where fewer than two points are named.
func (db *DB) FreezeBase(ctx context.Context, by, batchID string, first, last int, reason string) error {
	const what = "freezing control limits"
	if first < 1 || last < first+1 {
		return fmt.Errorf("%s: %w: found points %d to %d; allowed: from 1, at least two", what, ErrInput, first, last)
	}
	return db.write(ctx, what, func(t *tx) error {
		if err := t.may(by, batch.Freeze); err != nil {
			return err
		}
		var number string
		if err := t.row(`SELECT number FROM batches WHERE id = ?`, batchID).Scan(&number); err != nil {
			return unknown(err, "batch", batchID)
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO chart_bases (id, station, at, by, batch_id, first, last, reason) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`, id, t.station, nanos(t.at), by, batchID, first, last, reason); err != nil {
			return err
		}
		return t.audit(by, "control limits frozen", number, fmt.Sprintf("from points %d to %d; %s", first, last, reason))
	})
}

// Base returns the points that a batch's control limits are computed from, and who stated them; the first
// batch.UsualBase points, stated by nobody, where none were.
func (db *DB) Base(ctx context.Context, batchID string) (batch.ChartBase, error) {
	b := batch.ChartBase{First: 1, Last: batch.UsualBase}
	var at int64
	err := db.reader.QueryRowContext(ctx, `SELECT first, last, by, at, reason FROM chart_bases WHERE batch_id = ? ORDER BY ord DESC LIMIT 1`, batchID).Scan(&b.First, &b.Last, &b.By, &at, &b.Reason)
	if errors.Is(err, sql.ErrNoRows) {
		return b, nil
	}
	b.At = instant(at)
	return b, translate(err, "reading the base of a batch's control limits")
}
