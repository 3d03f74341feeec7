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

// rodPairs pairs each turn of a rod with the mean relief of the newest verdict before it and of the newest verdict of
// the next judged attempt. Where anything but the rod and the pitch was worked on between the two, or the rod more than
// once, the fall cannot be told apart and there is no pair.
const rodPairs = `
WITH judged AS (
  SELECT i.neck_id, i.attempt, i.id AS inspection_id, v.ord, v.relief_mm, v.relief_u, v.at
  FROM inspections i JOIN judgements v ON v.inspection_id = i.id),
pairs AS (
  SELECT a.ord, a.neck_id, a.turns, a.direction, before.attempt AS before_attempt, before.ord AS before_ord, before.relief_mm AS before_mm,
    after.attempt AS after_attempt, after.ord AS after_ord, after.relief_mm AS after_mm,
    sqrt(before.relief_u * before.relief_u + after.relief_u * after.relief_u) AS u
  FROM standing_rework a
  JOIN judged before ON before.inspection_id = a.inspection_id
  JOIN judged after ON after.neck_id = a.neck_id
    AND after.attempt = (SELECT min(attempt) FROM judged WHERE neck_id = a.neck_id AND attempt > before.attempt)
  WHERE a.what = 'truss rod' AND before.relief_mm IS NOT NULL AND after.relief_mm IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM standing_rework o WHERE o.neck_id = a.neck_id AND o.ord <> a.ord AND o.inspection_id = a.inspection_id AND o.what <> 'pitch'))`

// Of the pairs: whether other work lies between one and the turn before it; what later attempts measured with nothing done
// between; and the open strings' action before and after.
const (
	selectSteps = rodPairs + `
SELECT p.ord, p.neck_id, p.turns, p.direction, p.before_mm, p.after_mm, p.u,
  EXISTS (SELECT 1 FROM standing_rework o WHERE o.neck_id = p.neck_id AND o.ord < p.ord AND o.what NOT IN ('truss rod', 'pitch')
    AND NOT EXISTS (SELECT 1 FROM standing_rework r WHERE r.neck_id = p.neck_id AND r.what = 'truss rod' AND r.ord > o.ord AND r.ord < p.ord))
FROM pairs p WHERE p.after_attempt < ?1`
	selectAgain = rodPairs + `
SELECT p.ord, j.relief_mm FROM pairs p JOIN judged j ON j.neck_id = p.neck_id AND j.attempt > p.after_attempt AND j.attempt < ?1
WHERE j.relief_mm IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM standing_rework o JOIN inspections i ON i.id = o.inspection_id
  WHERE o.neck_id = p.neck_id AND o.what <> 'pitch' AND i.attempt >= p.after_attempt AND i.attempt < j.attempt)
  AND p.after_attempt < ?1`
	selectActions = rodPairs + `
SELECT p.ord, b.string, b.fret, b.value, c.value, sqrt(b.u * b.u + c.u * c.u)
FROM pairs p JOIN characteristics b ON b.verdict_ord = p.before_ord AND b.name = 'action' AND b.held_fret = 0
JOIN characteristics c ON c.verdict_ord = p.after_ord AND c.name = 'action' AND c.held_fret = 0 AND c.string = b.string AND c.fret = b.fret
WHERE b.value IS NOT NULL AND c.value IS NOT NULL AND p.after_attempt < ?1`
)

// rodSteps reads the pairs that the condition where on p picks, judged before an attempt, and what belongs to each.
func (db *DB) rodSteps(ctx context.Context, attempt int, where string, args ...any) ([]inspect.RodStep, error) {
	args = append([]any{attempt}, args...)
	var steps []inspect.RodStep
	at := map[int64]int{} // a pair's place among the steps
	_, err := list(ctx, db.reader, func(s scanner) (none struct{}, err error) {
		var step inspect.RodStep
		var ord int64
		err = s.Scan(&ord, &step.Neck, &step.Turns, &step.Direction, &step.ReliefBeforeMM, &step.ReliefAfterMM, &step.UMM, &step.NewSetUp)
		at[ord] = len(steps)
		steps = append(steps, step)
		return none, err
	}, selectSteps+where+` ORDER BY p.neck_id, p.ord`, args...)
	if err != nil || len(steps) == 0 {
		return nil, err
	}
	_, err = list(ctx, db.reader, func(s scanner) (none struct{}, err error) {
		var ord int64
		var mm float64
		err = s.Scan(&ord, &mm)
		step := &steps[at[ord]]
		step.ReliefAgainMM = append(step.ReliefAgainMM, mm)
		return none, err
	}, selectAgain+where+` ORDER BY p.ord, j.attempt`, args...)
	if err != nil {
		return nil, err
	}
	_, err = list(ctx, db.reader, func(s scanner) (none struct{}, err error) {
		var ord int64
		var c inspect.ActionChange
		err = s.Scan(&ord, &c.String, &c.Fret, &c.BeforeMM, &c.AfterMM, &c.UMM)
		if c.UMM != nil && *c.UMM == 0 {
			c.UMM = nil
		}
		step := &steps[at[ord]]
		step.Action = append(step.Action, c)
		return none, err
	}, selectActions+where+` ORDER BY p.ord, b.string, b.fret`, args...)
	return steps, err
}

// RodSteps returns a neck's turns of the truss rod with the mean relief, mm, and the action before and after each, oldest first, of
// those whose outcome was judged at an attempt before the one given. A turn without a verdict on both sides, or with other
// work between the two, is left out.
func (db *DB) RodSteps(ctx context.Context, neckID string, attempt int) ([]inspect.RodStep, error) {
	all, err := db.rodSteps(ctx, attempt, ` AND p.neck_id = ?2`, neckID)
	return all, translate(err, "reading a neck's rod steps")
}

// rodModelSteps is about how many of a model's steps are read: with as many pairs the model's own spread decides, and older
// ones tell of other rods.
const rodModelSteps = 500

// RodModel returns the same for the other necks of a model, all revisions of the specification of that name, batch after batch and
// neck after neck: of its newest batches, as many as hold some rodModelSteps. The neck itself is left out, because its own turns teach its
// own rod apart.
func (db *DB) RodModel(ctx context.Context, specName, exceptNeckID string) ([]inspect.RodStep, error) {
	const what = "reading a model's rod steps"
	batches, err := list(ctx, db.reader, func(s scanner) (id string, err error) { return id, s.Scan(&id) },
		`SELECT b.id FROM batches b JOIN specs s ON s.id = b.spec_id WHERE s.name = ? ORDER BY b.ord DESC`, specName)
	if err != nil {
		return nil, translate(err, what)
	}
	var all []inspect.RodStep
	for _, id := range batches {
		older, err := db.rodSteps(ctx, math.MaxInt32, ` AND p.neck_id <> ?2 AND p.neck_id IN (SELECT id FROM necks WHERE batch_id = ?3)`, exceptNeckID, id)
		if err != nil {
			return nil, translate(err, what)
		}
		if all = append(older, all...); len(all) >= rodModelSteps {
			break
		}
	}
	return all, nil
}
