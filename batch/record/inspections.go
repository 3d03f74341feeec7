package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
)

// The newest event is an inspection's state and the newest climate row its climate.
const selectInspection = `SELECT i.id, i.neck_id, n.serial, n.batch_id, b.number, i.attempt, i.inspector, i.station, i.at, i.posture,
	coalesce((SELECT handed FROM handings WHERE inspection_id = i.id ORDER BY ord DESC LIMIT 1), i.handed),
	coalesce(e.state, 'open'), coalesce(e.at, i.at), coalesce(e.reason, ''), c.temperature_c, c.humidity_percent,
	EXISTS (SELECT 1 FROM whole_inspections w WHERE w.inspection_id = i.id)
	FROM inspections i JOIN necks n ON n.id = i.neck_id JOIN batches b ON b.id = n.batch_id
	LEFT JOIN inspection_events e ON e.ord = (SELECT max(ord) FROM inspection_events WHERE inspection_id = i.id)
	LEFT JOIN climates c ON c.ord = (SELECT max(ord) FROM climates WHERE inspection_id = i.id) `

func scanInspection(s scanner) (batch.Inspection, error) {
	var in batch.Inspection
	var started, stated int64
	err := s.Scan(&in.ID, &in.NeckID, &in.Serial, &in.BatchID, &in.BatchNumber, &in.Attempt, &in.Inspector, &in.Station, &started,
		&in.Posture, &in.Handed, &in.State, &stated, &in.StateReason, &in.Climate.TemperatureC, &in.Climate.HumidityPercent, &in.Whole)
	in.StartedAt, in.StateAt = instant(started), instant(stated)
	return in, err
}

// StartInspection begins the next attempt at in.NeckID with its Inspector, Climate, Posture and Handed. ErrUnknown: no
// such neck; ErrState: the neck's batch is closed, or an inspection of it is open or parked; ErrInput: no inspector.
func (db *DB) StartInspection(ctx context.Context, in batch.Inspection) (batch.Inspection, error) {
	const what = "starting an inspection"
	if in.Inspector == "" {
		return batch.Inspection{}, fmt.Errorf("%s: %w: found no inspector", what, ErrInput)
	}
	var started batch.Inspection
	err := db.write(ctx, what, func(t *tx) error {
		var serial, number string
		var closed, attempt int
		if err := t.may(in.Inspector, batch.Measure); err != nil {
			return err
		}
		if err := t.row(`SELECT n.serial, b.number, EXISTS (SELECT 1 FROM batch_closures c WHERE c.batch_id = b.id)
			FROM necks n JOIN batches b ON b.id = n.batch_id WHERE n.id = ?`, in.NeckID).Scan(&serial, &number, &closed); err != nil {
			return unknown(err, "neck", in.NeckID)
		}
		if closed != 0 {
			return fmt.Errorf("%w: batch %s of %s is closed", ErrState, number, serial)
		}
		before, err := scanInspection(t.row(selectInspection+`WHERE i.neck_id = ? ORDER BY i.attempt DESC LIMIT 1`, in.NeckID))
		switch {
		case errors.Is(err, sql.ErrNoRows):
			attempt = 1
		case err != nil:
			return err
		case before.State == batch.Open || before.State == batch.Parked:
			return fmt.Errorf("%w: attempt %d at %s is %s; go on with it, or give it up first", ErrState, before.Attempt, serial, before.State)
		default:
			attempt = before.Attempt + 1
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO inspections (id, station, at, inspector, neck_id, attempt, posture, handed) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(t.at), in.Inspector, in.NeckID, attempt, in.Posture, in.Handed); err != nil {
			return err
		}
		if in.Climate != (inspect.Climate{}) {
			if err := t.climate(in.Inspector, id, in.Climate); err != nil {
				return err
			}
		}
		if err := t.refreshNeck(in.NeckID); err != nil {
			return err
		}
		started, err = scanInspection(t.row(selectInspection+`WHERE i.id = ?`, id))
		return err
	})
	if err != nil {
		return batch.Inspection{}, err
	}
	return started, nil
}

// event adds a state to an inspection and its neck's status.
func (t *tx) event(by string, in batch.Inspection, st batch.InspectionState, reason string) error {
	id, err := newID()
	if err != nil {
		return err
	}
	if err := t.exec(`INSERT INTO inspection_events (id, station, at, by, inspection_id, state, reason) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		id, t.station, nanos(t.at), by, in.ID, st, reason); err != nil {
		return err
	}
	return t.refreshNeck(in.NeckID)
}

// SetInspectionState parks, resumes or abandons an inspection; finished comes with its verdict. A finished one may be
// opened again, with a reason, while it is the neck's newest attempt and no rework follows it; its verdict
// stays in the record and does not count any more. ErrUnknown; ErrInput: no such state, or a reason is missing; ErrState:
// it is abandoned, or finished for good.
func (db *DB) SetInspectionState(ctx context.Context, by, inspectionID string, st batch.InspectionState, reason string) error {
	what := "setting an inspection to " + string(st)
	if allowed := []batch.InspectionState{batch.Open, batch.Parked, batch.Abandoned}; !slices.Contains(allowed, st) {
		return fmt.Errorf("%s: %w: allowed are %q", what, ErrInput, allowed)
	}
	return db.write(ctx, what, func(t *tx) error {
		in, err := scanInspection(t.row(selectInspection+`WHERE i.id = ?`, inspectionID))
		if err != nil {
			return unknown(err, "inspection", inspectionID)
		}
		return t.state(by, in, st, reason)
	})
}

// state gives an inspection a state that it may have now.
func (t *tx) state(by string, in batch.Inspection, st batch.InspectionState, reason string) error {
	if reason == "" && (st != batch.Open || in.State == batch.Finished) {
		return fmt.Errorf("%w: it needs a reason in words", ErrInput)
	}
	var followed bool
	if err := t.row(`SELECT EXISTS (SELECT 1 FROM inspections WHERE neck_id = ?1 AND attempt > ?2) OR EXISTS (SELECT 1 FROM standing_rework WHERE inspection_id = ?3)
			OR EXISTS (SELECT 1 FROM batch_closures WHERE batch_id = ?4)`, in.NeckID, in.Attempt, in.ID, in.BatchID).Scan(&followed); err != nil {
		return err
	}
	if in.State == batch.Abandoned || in.State == batch.Finished && (st != batch.Open || followed) {
		return fmt.Errorf("%w: attempt %d at %s is %s; start the next one", ErrState, in.Attempt, in.Serial, in.State)
	}
	if err := t.event(by, in, st, reason); err != nil {
		return err
	}
	return t.audit(by, "inspection "+string(st), fmt.Sprintf("%s, attempt %d", in.Serial, in.Attempt), reason)
}

// SetClimate notes the room's climate of an inspection; the newest note counts.
func (db *DB) SetClimate(ctx context.Context, by, inspectionID string, c inspect.Climate) error {
	return db.write(ctx, "noting the climate", func(t *tx) error {
		in, err := scanInspection(t.row(selectInspection+`WHERE i.id = ?`, inspectionID))
		if err != nil {
			return unknown(err, "inspection", inspectionID)
		}
		if err := t.climate(by, inspectionID, c); err != nil {
			return err
		}
		return t.refreshFirst(in.NeckID)
	})
}

func (t *tx) climate(by, inspectionID string, c inspect.Climate) error {
	id, err := newID()
	if err != nil {
		return err
	}
	return t.exec(`INSERT INTO climates (id, station, at, by, inspection_id, temperature_c, humidity_percent) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		id, t.station, nanos(t.at), by, inspectionID, c.TemperatureC, c.HumidityPercent)
}

// OpenInspections returns the inspections that are open or parked, the oldest first.
func (db *DB) OpenInspections(ctx context.Context) ([]batch.Inspection, error) {
	all, err := list(ctx, db.reader, scanInspection, selectInspection+
		`WHERE i.neck_id IN (SELECT neck_id FROM neck_status WHERE state IN ('open', 'parked')) AND coalesce(e.state, 'open') IN ('open', 'parked') ORDER BY i.ord`)
	return all, translate(err, "reading the open inspections")
}

// Inspections returns a neck's inspections in attempt order.
func (db *DB) Inspections(ctx context.Context, neckID string) ([]batch.Inspection, error) {
	all, err := list(ctx, db.reader, scanInspection, selectInspection+`WHERE i.neck_id = ? ORDER BY i.attempt`, neckID)
	return all, translate(err, "reading a neck's inspections")
}

// Inspection returns one inspection by its ID; ErrUnknown where there is none.
func (db *DB) Inspection(ctx context.Context, id string) (batch.Inspection, error) {
	in, err := scanInspection(db.reader.QueryRowContext(ctx, selectInspection+`WHERE i.id = ?`, id))
	return in, unknown(err, "inspection", id)
}
