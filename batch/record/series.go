package record

import (
	"context"
	"iter"

	"sagitta/batch"
)

const (
	seriesColumns = `n.serial, b.number, f.at, c.value, c.u, c.lower, c.target, c.upper, c.unit, c.zone, f.inspector, f.station, f.gauges, f.temperature_c, f.humidity_percent`
	seriesWhere   = ` AND c.name = ?6 AND c.track = ?7 AND c.string = ?8 AND c.fret = ?9 AND c.held_fret = ?10 `
	seriesJoins   = ` CROSS JOIN necks n ON n.ord = f.neck_ord CROSS JOIN characteristics c ON c.verdict_ord = f.verdict_ord `
)

// Series yields the first measurements of one characteristic in order of inspection, those without a value among them. The
// first error ends it.
func (db *DB) Series(ctx context.Context, s batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error] {
	where, args := scoped(s.Scope)
	args = append(args, s.Name, s.Track, s.String, s.Fret, s.HeldFret)
	// One batch's necks come in order out of its index; several batches' out of the index of times.
	from := ` FROM neck_first f CROSS JOIN batches b ON b.ord = f.batch_ord CROSS JOIN specs sp ON sp.id = b.spec_id` + seriesJoins
	if s.BatchID != "" {
		from = ` FROM batches b CROSS JOIN specs sp ON sp.id = b.spec_id CROSS JOIN neck_first f ON f.batch_ord = b.ord` + seriesJoins
	}
	query := `SELECT ` + seriesColumns + from + where + seriesWhere
	if s.Newest > 0 {
		query = `SELECT * FROM (SELECT f.neck_ord, ` + seriesColumns + from + where + seriesWhere + `ORDER BY f.at DESC, f.neck_ord DESC LIMIT ?11) ORDER BY 4, 1`
		args = append(args, s.Newest)
	} else {
		query += `ORDER BY f.at, f.neck_ord`
	}
	uses := map[string]string{} // the characteristic's gauge by the uses' text
	return stream(ctx, db, "reading the series of "+s.Name, func(r scanner) (p batch.SeriesPoint, err error) {
		var at, ord int64
		var text string
		dest := []any{&p.Serial, &p.BatchNumber, &at, &p.Value, &p.U, &p.Lower, &p.Target, &p.Upper, &p.Unit, &p.Zone, &p.Inspector, &p.Station,
			&text, &p.Climate.TemperatureC, &p.Climate.HumidityPercent}
		if s.Newest > 0 {
			dest = append([]any{&ord}, dest...)
		}
		if err := r.Scan(dest...); err != nil {
			return p, err
		}
		p.At = instant(at)
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
}
