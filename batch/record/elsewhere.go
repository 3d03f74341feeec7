package record

import (
	"context"
	"time"

	"sagitta/batch"
)

// Elsewhere counts, for each neck of a batch by its serial number, the limited characteristics of its first judged
// inspection other than the named one that do not conform: nonconforming, undecided or not measured. It says whether a neck
// would have passed had that one conformed. Those inspected before since, if it is not zero, are left out.
func (db *DB) Elsewhere(ctx context.Context, batchID string, except batch.Named, since time.Time) (map[string]int, error) {
	type row struct {
		serial string
		n      int
	}
	counts := map[string]int{}
	for r, err := range stream(ctx, db, "counting what else does not conform", func(s scanner) (r row, err error) {
		return r, s.Scan(&r.serial, &r.n)
	}, `SELECT n.serial, (SELECT count(*) FROM characteristics c WHERE c.verdict_ord = f.verdict_ord AND c.zone IN ('nonconforming', 'undecided', 'not measured')
			AND NOT (c.name = ?2 AND c.track = ?3 AND c.string = ?4 AND c.fret = ?5 AND c.held_fret = ?6))
		FROM batches b CROSS JOIN neck_first f ON f.batch_ord = b.ord CROSS JOIN necks n ON n.ord = f.neck_ord WHERE b.id = ?1 AND f.at >= ?7`,
		batchID, except.Name, except.Track, except.String, except.Fret, except.HeldFret, nanos(since)) {
		if err != nil {
			return nil, err
		}
		counts[r.serial] = r.n
	}
	return counts, nil
}
