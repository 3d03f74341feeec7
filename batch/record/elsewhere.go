package record

import (
	"context"
	"iter"
	"slices"
	"time"

	"sagitta/batch"
)

// NotConforming counts, for each neck of a batch by its serial number, the limited characteristics of its first judged inspection
// that do not conform: nonconforming, undecided or not measured. Necks inspected before since, if it is not zero, are left out.
func (db *DB) NotConforming(ctx context.Context, batchID string, since time.Time) (map[string]int, error) {
	type row struct {
		serial string
		n      int
	}
	counts := map[string]int{}
	for r, err := range stream(ctx, db, "counting what does not conform", func(s scanner) (r row, err error) {
		return r, s.Scan(&r.serial, &r.n)
	}, `SELECT n.serial, (SELECT count(*) FROM characteristics c WHERE c.verdict_ord = f.verdict_ord AND c.zone IN ('nonconforming', 'undecided', 'not measured'))
		FROM batches b CROSS JOIN neck_first f ON f.batch_ord = b.ord CROSS JOIN necks n ON n.ord = f.neck_ord WHERE b.id = ?1 AND f.at >= ?2`,
		batchID, nanos(since)) {
		if err != nil {
			return nil, err
		}
		counts[r.serial] = r.n
	}
	return counts, nil
}

// NeckValues yields the first measurements of every characteristic of a name, neck by neck in the order of inspection, of a
// batch's newest necks, so many of them. The first error ends it.
func (db *DB) NeckValues(ctx context.Context, batchID, name string, newest int) iter.Seq2[batch.NeckValues, error] {
	type row struct {
		serial string
		at     int64
		batch.NeckValue
	}
	return func(yield func(batch.NeckValues, error) bool) {
		var neck batch.NeckValues
		for r, err := range stream(ctx, db, "reading the values of "+name, func(s scanner) (r row, err error) {
			r.Name = name
			return r, s.Scan(&r.serial, &r.at, &r.Track, &r.String, &r.Fret, &r.HeldFret, &r.Unit, &r.Value, &r.U, &r.Zone)
		}, `SELECT n.serial, f.at, c.track, c.string, c.fret, c.held_fret, c.unit, c.value, c.u, c.zone
			FROM (SELECT neck_ord, verdict_ord, at FROM neck_first WHERE batch_ord = (SELECT ord FROM batches WHERE id = ?1) ORDER BY at DESC, neck_ord DESC LIMIT ?2) f
			CROSS JOIN necks n ON n.ord = f.neck_ord CROSS JOIN characteristics c ON c.verdict_ord = f.verdict_ord
			WHERE c.name = ?3 ORDER BY f.at, f.neck_ord, c.place`, batchID, newest, name) {
			if err != nil {
				yield(neck, err)
				return
			}
			if neck.Serial != r.serial {
				if neck.Serial != "" && !yield(neck, nil) {
					return
				}
				neck = batch.NeckValues{Serial: r.serial, At: instant(r.at), Values: slices.Grow(neck.Values[:0:0], 1)}
			}
			neck.Values = append(neck.Values, r.NeckValue)
		}
		if neck.Serial != "" {
			yield(neck, nil)
		}
	}
}
