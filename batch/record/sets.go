package record

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
)

// setIs is what a set asks of a first inspection f with its batch b and specification sp, beyond firstIs; %s stands for the value.
var setIs = map[batch.Dimension]string{
	batch.ByBatch:    `b.number = %s`,
	batch.ByMonth:    `CAST(f.month AS TEXT) = %s`,
	batch.ByRevision: `sp.name || char(10) || sp.revision = %s`,
	batch.ByShift: `CASE WHEN substr(%[1]s, 1, 2) < substr(%[1]s, 4, 2) THEN f.hour >= CAST(substr(%[1]s, 1, 2) AS INTEGER) AND f.hour < CAST(substr(%[1]s, 4, 2) AS INTEGER)
		ELSE f.hour >= CAST(substr(%[1]s, 1, 2) AS INTEGER) OR f.hour < CAST(substr(%[1]s, 4, 2) AS INTEGER) END`,
}

// SetValues sums the first measurements of a scope's necks of two values of a dimension by characteristic and stratum. Sets that are
// kept by their sums (batches, months, revisions, gauges) are whole; of others the newest necks of both together are read, so many
// of them. ErrInput: no such dimension.
func (db *DB) SetValues(ctx context.Context, s batch.Scope, by batch.Dimension, a, b string, newest int) (of [2][]batch.ValueStratum, err error) {
	const what = "summing two sets' first measurements"
	condition, known := setIs[by]
	if !known {
		condition, known = firstIs[by]
	}
	if !known || by == batch.ByAll {
		return of, fmt.Errorf("%s: %w: sets are not made by %q", what, ErrInput, by)
	}
	spans, err := db.BadSpans(ctx)
	if err != nil {
		return of, err
	}
	sums := valueSets{of: map[valueSet]batch.Moments{}}
	kept := by == batch.ByBatch || by == batch.ByMonth || by == batch.ByRevision || by == batch.ByGauge
	if kept {
		if err := sums.kept(ctx, db, s, by, [2]string{a, b}); err != nil {
			return of, err
		}
	}
	if !kept || len(spans) > 0 {
		out, err := db.leftOut(ctx, s)
		if err != nil {
			return of, err
		}
		if err := sums.read(ctx, db, setQuery{s, by, [2]string{a, b}, condition, spans, newest, kept, out}); err != nil {
			return of, err
		}
	}
	for _, k := range sums.order {
		if m := sums.of[k]; m.N > 0 {
			of[k.side] = append(of[k.side], batch.ValueStratum{Named: k.Named, Stratum: k.Stratum, Moments: m})
		}
	}
	return of, nil
}

// setQuery is what is asked of two sets.
type setQuery struct {
	scope     batch.Scope
	by        batch.Dimension
	values    [2]string
	condition string
	spans     []batch.BadSpan
	newest    int
	kept      bool   // only what stands in a bad span is read, to move it there
	out       string // order numbers of necks that are left out, as a JSON array
}

// leftOut are the necks with a first measurement in doubt, where the scope leaves those out; all values of such a neck are.
func (db *DB) leftOut(ctx context.Context, s batch.Scope) (string, error) {
	necks := []int64{}
	if s.WithoutDoubt {
		out, err := db.doubtfulOf(ctx, s)
		if err != nil {
			return "", err
		}
		for neck := range out.necks {
			necks = append(necks, neck)
		}
	}
	text, err := json.Marshal(necks)
	return string(text), err
}

type valueSet struct {
	side int
	batch.Named
	batch.Stratum
}

// valueSets gathers moments by characteristic and stratum, in the order in which they come.
type valueSets struct {
	of    map[valueSet]batch.Moments
	order []valueSet
}

func (v *valueSets) add(k valueSet, m batch.Moments) {
	if _, known := v.of[k]; !known {
		v.order = append(v.order, k)
	}
	v.of[k] = v.of[k].Plus(m)
}

// kept takes the sums that are kept with the record.
func (v *valueSets) kept(ctx context.Context, db *DB, s batch.Scope, by batch.Dimension, values [2]string) error {
	rows, err := db.Characteristics(ctx, s, "", batch.SplitStratum)
	if err != nil {
		return err
	}
	for i := range rows {
		r := &rows[i]
		is := map[batch.Dimension]string{batch.ByBatch: r.Batch, batch.ByMonth: fmt.Sprint(int(r.Month)), batch.ByRevision: r.SpecName + "\n" + r.Revision, batch.ByGauge: r.GaugeID}[by]
		for side, value := range values {
			if is == value && r.N > 0 {
				v.add(valueSet{side, r.Named, batch.Stratum{Batch: r.Batch, SpecName: r.SpecName, Revision: r.Revision, Month: r.Month}}, r.Moments)
			}
		}
	}
	return nil
}

// picked is the newest necks of two sets with their stratum, as a table, with its arguments.
func (q setQuery) picked() (table string, args []any) {
	where, args := scoped(q.scope)
	bind := func(a any) string {
		args = append(args, a)
		return fmt.Sprintf("?%d", len(args))
	}
	first, second := fmt.Sprintf(q.condition, bind(q.values[0])), fmt.Sprintf(q.condition, bind(q.values[1]))
	where += `AND (` + first + ` OR ` + second + `) AND f.neck_ord NOT IN (` + fmt.Sprintf(listedValues, bind(q.out)) + `)`
	place, times := "0", make([]string, len(q.spans))
	if len(q.spans) > 0 {
		place = "CASE"
		for i, span := range q.spans {
			times[i] = fmt.Sprintf("f.at >= %s AND f.at < %s", bind(nanos(span.From)), bind(nanos(span.To)))
			place += fmt.Sprintf(" WHEN %s AND instr(f.gauges, '\"gauge\":\"' || %s || '\"') > 0 THEN %d", times[i], bind(span.GaugeID), i+1)
		}
		place += " ELSE 0 END"
	}
	newest := q.newest
	if q.kept {
		where, newest = where+` AND (`+strings.Join(times, " OR ")+`)`, -1
	}
	return `SELECT f.verdict_ord, f.month, f.gauges, b.number, sp.name AS spec, sp.revision, CASE WHEN ` + first + ` THEN 0 ELSE 1 END AS side, ` + place + ` AS span
		FROM neck_first f CROSS JOIN batches b ON b.ord = f.batch_ord CROSS JOIN specs sp ON sp.id = b.spec_id ` + where + ` ORDER BY f.at DESC, f.neck_ord DESC LIMIT ` + bind(newest), args
}

// read reads the values of necks.
func (v *valueSets) read(ctx context.Context, db *DB, q setQuery) error {
	table, args := q.picked()
	uses := map[string][]batch.GaugeUse{}
	for r, err := range stream(ctx, db, "reading two sets' first measurements", func(c scanner) (r struct {
		valueSet
		gauges string
		n      int
		s1, s2 float64
	}, err error) {
		return r, c.Scan(&r.Batch, &r.SpecName, &r.Revision, &r.Month, &r.Span, &r.side, &r.gauges, &r.Name, &r.Track, &r.String, &r.Fret, &r.HeldFret, &r.Unit, &r.n, &r.s1, &r.s2)
	}, `SELECT p.number, p.spec, p.revision, p.month, p.span, p.side, p.gauges, c.name, c.track, c.string, c.fret, c.held_fret, c.unit, count(c.value), coalesce(sum(c.value), 0), coalesce(sum(c.value * c.value), 0)
		FROM (`+table+`) p CROSS JOIN characteristics c ON c.verdict_ord = p.verdict_ord
		WHERE c.zone <> 'no limit' GROUP BY 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13`, args...) {
		if err != nil {
			return err
		}
		known, ok := uses[r.gauges]
		if !ok {
			if known, err = parseUses(r.gauges); err != nil {
				return err
			}
			uses[r.gauges] = known
		}
		if q.by == batch.ByGauge { // a neck may stand in both sets: each characteristic in that of its gauge
			if r.side = slices.Index(q.values[:], batch.GaugeOf(r.Name, known)); r.side < 0 {
				continue
			}
		}
		m := batch.MomentsOf(r.n, 0, r.s1, r.s2)
		if q.kept {
			if r.Span == 0 {
				continue
			}
			whole := r.valueSet
			whole.Span = 0
			v.of[whole] = v.of[whole].Less(m)
		}
		v.add(r.valueSet, m)
	}
	return nil
}
