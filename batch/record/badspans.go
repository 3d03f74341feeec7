package record

import (
	"context"

	"sagitta/batch"
)

// BadSpans returns the times in which gauges may have read wrong, in the order of the checks that failed.
func (db *DB) BadSpans(ctx context.Context) ([]batch.BadSpan, error) {
	all, err := list(ctx, db.reader, func(r scanner) (s batch.BadSpan, err error) {
		var from, to int64
		err = r.Scan(&s.GaugeID, &s.CheckID, &from, &to, &s.Why)
		if from > 0 {
			s.From = instant(from)
		}
		s.To = instant(to)
		return s, err
	}, `SELECT gauge_id, id, CASE WHEN before = 1 THEN before_at ELSE 0 END, at, why FROM (
		SELECT ord, gauge_id, id, at, good, why, lag(good) OVER w AS before, lag(at) OVER w AS before_at FROM gauge_checks WINDOW w AS (PARTITION BY gauge_id ORDER BY ord))
		WHERE good = 0 AND coalesce(before, 1) = 1 ORDER BY ord`)
	return all, translate(err, "reading the spans in which gauges may have read wrong")
}
