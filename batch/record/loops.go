package record

import (
	"context"
	"math"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// Loops says how often a batch's necks were inspected until they passed and how long that took, in their order of
// registration where times are alike. newest, where it is above 0, keeps to the necks that were registered last.
func (db *DB) Loops(ctx context.Context, batchID string, newest int) (batch.Loops, error) {
	var l batch.Loops
	passed, waiting := map[int]int{}, map[int]int{}
	type row struct {
		judged      int
		first, last int64
		disposition inspect.Disposition
	}
	for r, err := range stream(ctx, db, "reading a batch's rework loops", func(s scanner) (r row, err error) {
		return r, s.Scan(&r.judged, &r.first, &r.last, &r.disposition)
	}, `SELECT s.judged, s.first_at, s.last_at, s.disposition FROM `+newestNecks+` n CROSS JOIN neck_status s ON s.neck_id = n.id WHERE s.judged > 0`, batchID, limitOf(newest)) {
		if err != nil {
			return batch.Loops{}, err
		}
		if r.disposition == inspect.Pass {
			passed[r.judged]++
			l.ToPass = append(l.ToPass, time.Duration(r.last-r.first))
		} else {
			waiting[r.judged]++
		}
	}
	slices.Sort(l.ToPass)
	l.Attempts, l.Waiting = counted(passed), counted(waiting)
	return l, nil
}

// newestNecks are the necks of batch ?1 that were registered last, ?2 of them.
const newestNecks = `(SELECT ord, id, serial FROM necks WHERE batch_id = ?1 ORDER BY ord DESC LIMIT ?2)`

// limitOf is a LIMIT; below 1 there is none.
func limitOf(n int) int {
	if n < 1 {
		return math.MaxInt64
	}
	return n
}

// counted lists counts by what they are of.
func counted(m map[int]int) []batch.Count {
	var all []batch.Count
	for of, n := range m {
		all = append(all, batch.Count{Of: of, Necks: n})
	}
	slices.SortFunc(all, func(a, b batch.Count) int { return a.Of - b.Of })
	return all
}

// ReworkOutcomes returns a batch's rework actions in order of neck and time, each with the mean relief that the next judged
// inspection found. newest, where it is above 0, keeps to the necks that were registered last.
func (db *DB) ReworkOutcomes(ctx context.Context, batchID string, newest int) ([]batch.ReworkOutcome, error) {
	all, err := list(ctx, db.reader, func(s scanner) (o batch.ReworkOutcome, err error) {
		var at int64
		var u *float64
		err = s.Scan(append(reworkInto(&o.ReworkAction, &at), &o.Serial, &o.Attempt, &o.After, &u)...)
		o.At = instant(at)
		if u != nil {
			o.AfterU = *u
		}
		return o, err
	}, `SELECT `+reworkColumns+`, n.serial, coalesce(i.attempt, 0), v.relief_mm, v.relief_u
		FROM `+newestNecks+` n CROSS JOIN standing_rework a ON a.neck_id = n.id LEFT JOIN inspections i ON i.id = a.inspection_id
		LEFT JOIN verdicts v ON v.ord = (SELECT w.ord FROM inspections l JOIN judgements w ON w.inspection_id = l.id
			WHERE l.neck_id = a.neck_id AND l.attempt > i.attempt ORDER BY l.attempt LIMIT 1)
		ORDER BY n.ord, a.ord`, batchID, limitOf(newest))
	return all, translate(err, "reading the outcomes of a batch's rework")
}

// NeckStory returns everything about a serial number, blanks around it ignored: its attempts with their newest verdicts,
// what was done to it, and where it was taken in from. ErrUnknownSerial where it is not registered.
func (db *DB) NeckStory(ctx context.Context, serial string) (batch.NeckStory, error) {
	var s batch.NeckStory
	n, err := db.Neck(ctx, serial)
	if err != nil {
		return s, err
	}
	what := "reading the story of " + n.Serial
	if s.NeckRow, err = scanNeckRow(db.reader.QueryRowContext(ctx, selectNeckRow+`WHERE n.id = ?`, n.ID)); err != nil {
		return s, translate(err, what)
	}
	s.Import, err = oneImport(db.reader.QueryRowContext(ctx, selectImport+`WHERE ord =
		(SELECT m.ord FROM imports m JOIN necks n ON n.ord BETWEEN m.first_neck AND m.last_neck WHERE n.id = ? LIMIT 1)`, n.ID))
	if err != nil {
		return s, translate(err, what)
	}
	s.Inspections, err = db.attempts(ctx, n.ID)
	if err != nil {
		return s, err
	}
	s.Rework, err = db.Rework(ctx, n.ID)
	return s, err
}
