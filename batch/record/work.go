package record

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// mostWork is how many of the newest verdicts are looked through: far more than a bench gives in a day.
const mostWork = 20_000

// mostInHour is how many of the newest verdicts are looked through for those of an hour at one bench.
const mostInHour = 500

// JudgedSince counts the inspections that were judged since a moment of the last hour or so.
func (db *DB) JudgedSince(ctx context.Context, from time.Time) (n int, err error) {
	err = db.reader.QueryRowContext(ctx, `SELECT count(*) FROM (SELECT ord, at FROM verdicts ORDER BY ord DESC LIMIT ?2) w CROSS JOIN judgements v ON v.ord = w.ord WHERE w.at >= ?1`,
		nanos(from), mostInHour).Scan(&n)
	return n, translate(err, "counting what was judged in this hour")
}

// Work sums up what was judged at a moment not before from and before to.
func (db *DB) Work(ctx context.Context, from, to time.Time) (batch.Work, error) {
	type row struct {
		inspector, disposition, failing string
		first                           bool
		took                            time.Duration
	}
	rows, err := list(ctx, db.reader, func(s scanner) (r row, err error) {
		return r, s.Scan(&r.inspector, &r.disposition, &r.failing, &r.first, &r.took)
	}, `SELECT i.inspector, v.disposition, v.failing, coalesce(f.verdict_ord = v.ord, 0), v.at - i.at
		FROM (SELECT * FROM verdicts ORDER BY ord DESC LIMIT ?3) w CROSS JOIN judgements v ON v.ord = w.ord
		CROSS JOIN inspections i ON i.id = v.inspection_id CROSS JOIN necks n ON n.id = i.neck_id LEFT JOIN neck_first f ON f.neck_ord = n.ord
		WHERE w.at >= ?1 AND w.at < ?2`, nanos(from), nanos(to), mostWork)
	if err != nil {
		return batch.Work{}, translate(err, "summing up what was judged")
	}
	w := batch.Work{From: from, To: to, Judged: len(rows), Dispositions: map[inspect.Disposition]int{}}
	by, reasons := map[string]*batch.Share{}, map[string]int{}
	var took []time.Duration
	for _, r := range rows {
		w.Dispositions[inspect.Disposition(r.disposition)]++
		took = append(took, r.took)
		share := by[r.inspector]
		if share == nil {
			share = &batch.Share{Value: r.inspector}
			by[r.inspector] = share
		}
		if !r.first {
			continue
		}
		w.First++
		share.Inspected++
		if inspect.Disposition(r.disposition) == inspect.Pass {
			w.FirstPass++
			share.FirstPass++
		} else if r.failing != "" {
			reasons[r.failing]++
		}
	}
	w.Takt = batch.TaktOf(took)
	for _, name := range slices.Sorted(maps.Keys(by)) {
		w.By = append(w.By, *by[name])
	}
	for name, n := range reasons {
		w.Reasons = append(w.Reasons, batch.Reason{Name: name, Necks: n})
	}
	slices.SortFunc(w.Reasons, func(a, b batch.Reason) int { return cmp.Or(b.Necks-a.Necks, cmp.Compare(a.Name, b.Name)) })
	return w, nil
}
