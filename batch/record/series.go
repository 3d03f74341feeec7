package record

import (
	"context"
	"fmt"
	"iter"
	"slices"

	"sagitta/batch"
)

const (
	seriesColumns = `SELECT f.neck_ord, n.serial, b.number, f.at, c.value, c.u, c.lower, c.target, c.upper, c.unit, c.zone, f.inspector, f.station, f.gauges, f.temperature_c, f.humidity_percent,
		EXISTS (SELECT 1 FROM doubt_clearances x WHERE x.neck_id = n.id)`
	seriesJoins = ` CROSS JOIN necks n ON n.ord = f.neck_ord CROSS JOIN characteristics c ON c.verdict_ord = f.verdict_ord `
	seriesWhere = ` AND c.name = ?6 AND c.track = ?7 AND c.string = ?8 AND c.fret = ?9 AND c.held_fret = ?10 `
	// One batch's necks come in order out of its index; several batches' out of the index of times, which has
	// what picks them; the + keeps SQLite from going by batch and sorting.
	seriesOfBatch = ` FROM neck_first f CROSS JOIN batches b ON b.ord = f.batch_ord` + seriesJoins +
		`WHERE f.batch_ord = (SELECT b.ord FROM batches b CROSS JOIN specs sp ON sp.id = b.spec_id WHERE b.id = ?1 AND ` + scopedBatches + `) AND ` + scopedMonths + seriesWhere
	seriesOfMany = ` FROM neck_first f CROSS JOIN batches b ON b.ord = f.batch_ord` + seriesJoins +
		`WHERE +f.batch_ord IN (SELECT b.ord FROM batches b CROSS JOIN specs sp ON sp.id = b.spec_id WHERE ` + scopedBatches + `) AND ` + scopedMonths + seriesWhere
)

// Series yields the first measurements of one characteristic in order of inspection, those without a value among them. The
// first error ends it.
func (db *DB) Series(ctx context.Context, s batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error] {
	out, err := db.doubtfulOf(ctx, s.Scope)
	if err != nil {
		return func(yield func(batch.SeriesPoint, error) bool) { yield(batch.SeriesPoint{}, err) }
	}
	_, args := scoped(s.Scope)
	args = append(args, s.Name, s.Track, s.String, s.Fret, s.HeldFret)
	query := seriesColumns + seriesOfMany
	if s.BatchID != "" {
		query = seriesColumns + seriesOfBatch
	}
	if s.Newest <= 0 {
		return db.series(ctx, s, out, query+`ORDER BY f.at, f.neck_ord`, args)
	}
	left := 0 // that may be among the newest and are left out
	if s.WithoutDoubt {
		left = len(out.necks)
	}
	return func(yield func(batch.SeriesPoint, error) bool) {
		var newest []batch.SeriesPoint // the newest first
		for p, err := range db.series(ctx, s, out, query+`ORDER BY f.at DESC, f.neck_ord DESC LIMIT ?11`, append(args, s.Newest+left)) {
			if err != nil {
				yield(p, err)
				return
			}
			if newest = append(newest, p); len(newest) == s.Newest {
				break
			}
		}
		for _, p := range slices.Backward(newest) {
			if !yield(p, nil) {
				return
			}
		}
	}
}

func (db *DB) series(ctx context.Context, s batch.SeriesFilter, out *doubtful, query string, args []any) iter.Seq2[batch.SeriesPoint, error] {
	uses := map[string]string{} // the characteristic's gauge by the uses' text
	all := stream(ctx, db, "reading the series of "+s.Name, func(r scanner) (p batch.SeriesPoint, err error) {
		var at, neck int64
		var text string
		err = r.Scan(&neck, &p.Serial, &p.BatchNumber, &at, &p.Value, &p.U, &p.Lower, &p.Target, &p.Upper, &p.Unit, &p.Zone, &p.Inspector, &p.Station,
			&text, &p.Climate.TemperatureC, &p.Climate.HumidityPercent, &p.Cleared)
		if err != nil {
			return p, err
		}
		p.At = instant(at)
		named := s.Named
		named.Unit = p.Unit
		p.InDoubt = out.necks[neck][named]
		gauge, known := uses[text]
		if !known {
			all, err := parseUses(text)
			if err != nil {
				return p, err
			}
			gauge = batch.GaugeOf(s.Name, all)
			uses[text] = gauge
		}
		p.GaugeID = gauge
		return p, nil
	}, query, args...)
	if !s.WithoutDoubt {
		return all
	}
	return func(yield func(batch.SeriesPoint, error) bool) {
		for p, err := range all {
			if (err != nil || !p.InDoubt) && !yield(p, err) {
				return
			}
		}
	}
}

// limitedValues are a batch's limited characteristics of one end of its first inspections, neck after neck.
const limitedValues = `SELECT n.serial, c.name, c.track, c.string, c.fret, c.held_fret, c.unit, c.value
FROM (SELECT verdict_ord, neck_ord, at FROM neck_first WHERE batch_ord = (SELECT ord FROM batches WHERE id = ?1) ORDER BY at %[1]s, neck_ord %[1]s LIMIT ?2) f
CROSS JOIN necks n ON n.ord = f.neck_ord CROSS JOIN characteristics c ON c.verdict_ord = f.verdict_ord
WHERE c.value IS NOT NULL AND (c.lower IS NOT NULL OR c.upper IS NOT NULL) ORDER BY f.at, f.neck_ord, c.place`

// FirstValues yields the first measurements of all limited characteristics of a batch's so many necks: the oldest, or the newest. They
// come in order of inspection; values that were not measured are left out. The first error ends it.
func (db *DB) FirstValues(ctx context.Context, batchID string, newest bool, necks int) iter.Seq2[batch.FirstValue, error] {
	order := "ASC"
	if newest {
		order = "DESC"
	}
	return stream(ctx, db, "reading first values", func(r scanner) (v batch.FirstValue, err error) {
		err = r.Scan(&v.Serial, &v.Name, &v.Track, &v.String, &v.Fret, &v.HeldFret, &v.Unit, &v.Value)
		return v, err
	}, fmt.Sprintf(limitedValues, order), batchID, necks)
}
