package record

import (
	"context"
	"fmt"
	"math"

	"sagitta/batch"
	"sagitta/inspect"
)

const reworkColumns = `a.id, a.at, a.by, a.neck_id, coalesce(a.inspection_id, ''), a.what, a.turns, a.direction, a.string, a.fret, a.track, a.amount_mm,
	a.predicted_mm, a.note, a.relief_before_mm, a.relief_before_u, coalesce(a.supersedes, ''), a.withdrawn`

func reworkInto(a *batch.ReworkAction, at *int64) []any {
	return []any{&a.ID, at, &a.By, &a.NeckID, &a.InspectionID, &a.What, &a.Turns, &a.Direction, &a.String, &a.Fret, &a.Track, &a.AmountMM,
		&a.PredictedMM, &a.Note, &a.ReliefBefore, &a.ReliefBeforeU, &a.Supersedes, &a.Withdrawn}
}

// AppendRework keeps what was done to a neck, or that a step was not done: a Withdrawn row with the ID of the step in Supersedes,
// which counts until the neck is measured again. ErrInput: no word for it, or a truss rod step without turns or direction, or a row
// that takes nothing back; ErrUnknown: no such neck, or step of it; ErrState: it was taken back already, or the neck was measured since.
func (db *DB) AppendRework(ctx context.Context, a batch.ReworkAction) (batch.ReworkAction, error) {
	what := "keeping the rework " + a.What
	switch {
	case a.What == "":
		return batch.ReworkAction{}, fmt.Errorf("%s: %w: it does not say what was done", what, ErrInput)
	case a.What == inspect.StepRod && (!(a.Turns > 0) || math.IsInf(a.Turns, 1)):
		return batch.ReworkAction{}, fmt.Errorf("%s: %w: found %g turns, allowed are more than 0", what, ErrInput, a.Turns)
	case a.What == inspect.StepRod && a.Direction != "tighten" && a.Direction != "loosen":
		return batch.ReworkAction{}, fmt.Errorf("%s: %w: found direction %q, allowed are tighten and loosen", what, ErrInput, a.Direction)
	}
	err := db.write(ctx, what, func(t *tx) error {
		var serial string
		if err := t.may(a.By, batch.Measure); err != nil {
			return err
		}
		if err := t.row(`SELECT serial FROM necks WHERE id = ?`, a.NeckID).Scan(&serial); err != nil {
			return unknown(err, "neck", a.NeckID)
		}
		if err := takesBack(t, &a); err != nil {
			return err
		}
		if a.ID == "" {
			var err error
			if a.ID, err = newID(); err != nil {
				return err
			}
		}
		if a.At.IsZero() {
			a.At = t.at
		}
		a.At = instant(nanos(a.At))
		if err := t.exec(insertRework+` VALUES `+places(reworkInserted), reworkArgs(t.station, &a)...); err != nil {
			return err
		}
		if a.Withdrawn {
			return t.audit(a.By, "rework taken back", serial, reworkDetail(&a))
		}
		return t.audit(a.By, auditRework, serial, reworkDetail(&a))
	})
	if err != nil {
		return batch.ReworkAction{}, err
	}
	return a, nil
}

// takesBack refuses a row that takes a step back which stands no longer, or by which the neck was judged since.
func takesBack(t *tx, a *batch.ReworkAction) error {
	if a.Withdrawn != (a.Supersedes != "") {
		return fmt.Errorf("%w: a row that takes a step back names it, and no other does", ErrInput)
	}
	if !a.Withdrawn {
		return nil
	}
	var inspection string
	var gone, measured bool
	err := t.row(`SELECT coalesce(a.inspection_id, ''), a.withdrawn = 1 OR EXISTS (SELECT 1 FROM rework_actions b WHERE b.supersedes = a.id),
		EXISTS (SELECT 1 FROM inspections i JOIN inspections l ON l.neck_id = i.neck_id AND l.attempt > i.attempt JOIN readings r ON r.inspection_id = l.id
			WHERE i.id = a.inspection_id)
		FROM rework_actions a WHERE a.id = ?1 AND a.neck_id = ?2`, a.Supersedes, a.NeckID).Scan(&inspection, &gone, &measured)
	switch {
	case err != nil:
		return unknown(err, "rework step", a.Supersedes)
	case gone:
		return fmt.Errorf("%w: this step was taken back already", ErrState)
	case measured:
		return fmt.Errorf("%w: the neck was measured since this step was recorded: it can no longer be taken back", ErrState)
	}
	a.InspectionID = inspection
	return nil
}

const (
	auditRework    = "rework"
	reworkInserted = 19
	insertRework   = `INSERT INTO rework_actions (id, station, at, by, neck_id, inspection_id, what, turns, direction, string, fret, track, amount_mm,
		predicted_mm, note, relief_before_mm, relief_before_u, supersedes, withdrawn)`
)

func reworkArgs(station string, a *batch.ReworkAction) []any {
	return []any{a.ID, station, nanos(a.At), a.By, a.NeckID, optional(a.InspectionID), a.What, a.Turns, a.Direction, a.String, a.Fret, a.Track,
		a.AmountMM, a.PredictedMM, a.Note, a.ReliefBefore, a.ReliefBeforeU, optional(a.Supersedes), a.Withdrawn}
}

func reworkDetail(a *batch.ReworkAction) string { return a.What + "; " + a.Note }

func scanRework(s scanner) (batch.ReworkAction, error) {
	var a batch.ReworkAction
	var at int64
	err := s.Scan(reworkInto(&a, &at)...)
	a.At = instant(at)
	return a, err
}

// Rework returns what was done to a neck and not taken back, in order.
func (db *DB) Rework(ctx context.Context, neckID string) ([]batch.ReworkAction, error) {
	all, err := list(ctx, db.reader, scanRework, `SELECT `+reworkColumns+` FROM standing_rework a WHERE a.neck_id = ? ORDER BY a.ord`, neckID)
	return all, translate(err, "reading a neck's rework")
}
