package record

import (
	"context"
	"time"

	"sagitta/batch"
)

// Reworked counts the values of one characteristic at the newest judged inspection of a batch's necks that were judged more than
// once and first inspected since a moment: how many were measured there, not carried over, and how many of them lie between the limits they
// were judged by.
func (db *DB) Reworked(ctx context.Context, batchID string, of batch.Named, since time.Time) (n, between int, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT count(*), coalesce(sum((c.lower IS NULL OR c.value >= c.lower) AND (c.upper IS NULL OR c.value <= c.upper)), 0)
		FROM neck_first f CROSS JOIN necks n ON n.ord = f.neck_ord CROSS JOIN neck_status s ON s.neck_id = n.id AND s.judged > 1
		CROSS JOIN characteristics c ON c.verdict_ord = (SELECT v.ord FROM inspections i CROSS JOIN judgements v ON v.inspection_id = i.id WHERE i.neck_id = n.id ORDER BY i.attempt DESC LIMIT 1)
		WHERE f.batch_ord = (SELECT ord FROM batches WHERE id = ?1) AND f.at >= ?2 AND c.verdict_ord <> f.verdict_ord
		AND c.name = ?3 AND c.track = ?4 AND c.string = ?5 AND c.fret = ?6 AND c.held_fret = ?7 AND c.value IS NOT NULL AND c.carried_from = 0`,
		batchID, nanos(since), of.Name, of.Track, of.String, of.Fret, of.HeldFret).Scan(&n, &between)
	return n, between, translate(err, "counting values after rework")
}
