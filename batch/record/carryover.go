package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// CarriedOver returns the characteristics that an inspection carries over from its neck's attempts before (see batch.CarryOver), as the
// record stands now. ErrUnknown: no such inspection.
func (db *DB) CarriedOver(ctx context.Context, inspectionID string) ([]inspect.Characteristic, error) {
	all, err := carriedOver(ctx, db.reader, inspectionID, db.now())
	return all, unknown(err, "inspection", inspectionID)
}

func carriedOver(ctx context.Context, q querier, inspectionID string, at time.Time) ([]inspect.Characteristic, error) {
	in, err := scanInspection(q.QueryRowContext(ctx, selectInspection+`WHERE i.id = ?`, inspectionID))
	if err != nil || in.Attempt == 1 {
		return nil, err
	}
	o := batch.CarryOver{Of: in, At: at}
	if o.Attempts, err = list(ctx, q, scanInspection, selectInspection+`WHERE i.neck_id = ? ORDER BY i.attempt`, in.NeckID); err != nil {
		return nil, err
	}
	before, ok := batch.Before(in, o.Attempts)
	if !ok {
		return nil, nil
	}
	v, err := scanVerdict(q.QueryRowContext(ctx, selectVerdict+`FROM counting_verdicts v WHERE v.inspection_id = ?`, before.ID))
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, nil
	case err != nil:
		return nil, err
	}
	o.Before = &v
	if o.Work, err = list(ctx, q, scanRework, `SELECT `+reworkColumns+` FROM standing_rework a WHERE a.neck_id = ? ORDER BY a.ord`, in.NeckID); err != nil {
		return nil, err
	}
	if err := q.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM standing_doubts WHERE neck_id = ?1) OR EXISTS (SELECT 1 FROM held_necks WHERE neck_id = ?1)`,
		in.NeckID).Scan(&o.Doubted); err != nil {
		return nil, err
	}
	b, err := findBatch(ctx, q, `WHERE b.id = ?`, in.BatchID)
	if err != nil {
		return nil, err
	}
	o.Spec = b.Spec.Spec.WithDefaults()
	return o.Values(), nil
}

// keepCarried keeps which readings the values rest on that a verdict carries over. What it may not carry is refused; what its inspection's verdict before
// carried it may, for that was looked at then, but for one that had it measured again: then work or doubt may have come between.
func (t *tx) keepCarried(in batch.Inspection, spec *inspect.Spec, v *batch.Verdict) error {
	rows := batch.Carried(v.Result)
	if len(rows) == 0 {
		return nil
	}
	may, err := carriedOver(t.ctx, t, in.ID, t.at)
	if err != nil {
		return err
	}
	before, err := scanVerdict(t.row(selectVerdict+`FROM verdicts v WHERE v.inspection_id = ? AND v.id <> ? ORDER BY v.ord DESC LIMIT 1`, in.ID, v.ID))
	switch {
	case err == nil && (before.Disposition != inspect.Remeasure || v.DecidedBy != ""):
		may = append(may, batch.Carried(before.Result)...)
	case err != nil && !errors.Is(err, sql.ErrNoRows):
		return err
	}
	sources := map[int][]inspect.Characteristic{}
	for _, c := range rows {
		if !slices.ContainsFunc(may, func(o inspect.Characteristic) bool { return sameValue(o, c) }) {
			return fmt.Errorf("%w: %s of %s cannot be carried over from attempt %d any more: work was recorded or doubt cast meanwhile, or it is too old by now; measure what is asked for now",
				ErrState, inspect.Words(spec, c), in.Serial, c.CarriedFrom.Attempt)
		}
		sources[c.CarriedFrom.Attempt] = append(sources[c.CarriedFrom.Attempt], c)
	}
	for attempt, values := range sources {
		if err := t.keepSource(in, spec, v, attempt, values); err != nil {
			return err
		}
	}
	return nil
}

// sameValue reports that two characteristics are the same value of the same inspection.
func sameValue(a, b inspect.Characteristic) bool {
	equal := func(x, y *float64) bool { return x == nil && y == nil || x != nil && y != nil && *x == *y }
	return batch.NameOf(a) == batch.NameOf(b) && a.CarriedFrom.Attempt == b.CarriedFrom.Attempt && equal(a.Value, b.Value) && equal(a.U, b.U)
}

// keepSource keeps which readings of one attempt values rest on: of each gauge from the first to the last.
func (t *tx) keepSource(in batch.Inspection, spec *inspect.Spec, v *batch.Verdict, attempt int, values []inspect.Characteristic) error {
	type row struct {
		ord        int64
		inspection string
		gauge      string
		point      batch.Point
	}
	readings, err := list(t.ctx, t, func(s scanner) (r row, err error) {
		return r, s.Scan(&r.ord, &r.inspection, &r.gauge, &r.point.Kind, &r.point.Track, &r.point.Fret, &r.point.String, &r.point.HeldFret)
	}, `SELECT r.ord, r.inspection_id, r.gauge_id, r.kind, r.track, r.fret, r.string, r.held_fret
		FROM inspections i JOIN standing_readings r ON r.inspection_id = i.id WHERE i.neck_id = ? AND i.attempt = ? ORDER BY r.ord`, in.NeckID, attempt)
	if err != nil {
		return err
	}
	points := map[batch.Point]bool{}
	for _, c := range values {
		for _, ref := range inspect.Involved(spec, c) {
			points[batch.PointOf(ref)] = true
		}
	}
	var gauges []string
	ends := map[string][2]int64{}
	source := ""
	for _, r := range readings {
		if !points[r.point] {
			continue
		}
		source = r.inspection
		end, known := ends[r.gauge]
		if !known {
			gauges, end[0] = append(gauges, r.gauge), r.ord-1
		}
		end[1] = r.ord
		ends[r.gauge] = end
	}
	for _, gauge := range gauges {
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO carried (id, station, at, verdict_id, inspection_id, gauge_id, after_reading, upto_reading) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
			id, t.station, nanos(v.At), v.ID, source, gauge, ends[gauge][0], ends[gauge][1]); err != nil {
			return err
		}
	}
	return nil
}

// MeasureWhole has everything of an inspection measured: it carries nothing over. ErrUnknown: no such inspection; ErrState: it is ended.
func (db *DB) MeasureWhole(ctx context.Context, by, inspectionID string) error {
	return db.write(ctx, "having everything measured", func(t *tx) error {
		in, err := scanInspection(t.row(selectInspection+`WHERE i.id = ?`, inspectionID))
		switch {
		case err != nil:
			return unknown(err, "inspection", inspectionID)
		case in.State == batch.Finished || in.State == batch.Abandoned:
			return fmt.Errorf("%w: attempt %d at %s is %s; the next one can be measured whole", ErrState, in.Attempt, in.Serial, in.State)
		case in.Whole:
			return nil
		}
		id, err := newID()
		if err != nil {
			return err
		}
		if err := t.exec(`INSERT INTO whole_inspections (id, station, at, by, inspection_id) VALUES (?, ?, ?, ?, ?)`,
			id, t.station, nanos(t.at), by, in.ID); err != nil {
			return err
		}
		return t.audit(by, "inspection measured whole", attemptWords(in.Serial, in.Attempt), "nothing is carried over from an attempt before")
	})
}

// carrier is the newest verdict that counts of the attempts after a doubt's, where it carries values over that rest on its readings, else nil.
func carrier(ctx context.Context, q querier, r *doubtRow) (v *batch.Verdict, attempt int, err error) {
	var carries bool
	var id string
	err = q.QueryRowContext(ctx, `SELECT l.id, l.attempt, EXISTS (`+carriedOn+`) FROM inspections l JOIN counting_verdicts v ON v.inspection_id = l.id
		WHERE l.neck_id = ?1 AND l.attempt > ?2 ORDER BY l.attempt DESC LIMIT 1`,
		r.Neck.ID, r.Attempt, r.InspectionID, r.GaugeID, r.after, r.upto).Scan(&id, &attempt, &carries)
	if errors.Is(err, sql.ErrNoRows) || err == nil && !carries {
		return nil, 0, nil
	}
	if err != nil {
		return nil, 0, err
	}
	v, err = oneVerdict(ctx, q, selectVerdict+`FROM counting_verdicts v WHERE v.inspection_id = ?`, id)
	return v, attempt, err
}

// carriedOn picks what a verdict v carries over that rests on a doubt's readings: ?3 its inspection, ?4 its gauge, after ?5 and up to ?6.
const carriedOn = `SELECT 1 FROM carried k WHERE k.verdict_id = v.id AND k.inspection_id = ?3 AND (?4 = '' OR k.gauge_id = ?4) AND k.upto_reading > ?5 AND k.after_reading < ?6`
