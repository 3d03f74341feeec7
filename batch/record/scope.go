package record

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"sagitta/batch"
)

// What a scope asks of batches b with specs sp, and of a table f with months.
const (
	scopedBatches = `(?1 = '' OR b.id = ?1) AND (?2 = '' OR sp.name = ?2) AND (?3 = '' OR sp.revision = ?3) `
	scopedMonths  = `(?4 = 0 OR f.month >= ?4) AND (?5 = 0 OR f.month <= ?5) `
)

// scoped is the condition of a scope over a table f with batch_ord and month, joined with batches b and specs sp.
func scoped(s batch.Scope) (where string, args []any) {
	return `WHERE ` + scopedBatches + `AND ` + scopedMonths, []any{s.BatchID, s.SpecName, s.Revision, s.From, s.To}
}

// fromScope goes from the batches to a derived table, whose keys begin with the batch.
const fromScope = ` FROM batches b CROSS JOIN specs sp ON sp.id = b.spec_id CROSS JOIN %s f ON f.batch_ord = b.ord `

// Breakdown counts the first judged inspections of a scope by one dimension, by value.
func (db *DB) Breakdown(ctx context.Context, s batch.Scope, by batch.Dimension) ([]batch.Share, error) {
	what := "breaking first inspections down by " + string(by)
	where, args := scoped(s)
	all, err := list(ctx, db.reader, func(r scanner) (v batch.Share, err error) {
		return v, r.Scan(&v.Value, &v.Inspected, &v.FirstPass, &v.FinalPass)
	}, `SELECT f.value, sum(f.inspected), sum(f.passed), sum(f.final)`+fmt.Sprintf(fromScope, "first_tally")+where+
		`AND f.dimension = ?6 GROUP BY f.value HAVING sum(f.inspected) > 0 ORDER BY f.value`, append(args, by)...)
	if err != nil {
		return nil, translate(err, what)
	}
	out, err := db.doubtfulOf(ctx, s)
	if err != nil {
		return nil, err
	}
	for k, n := range out.firsts {
		for i := range all {
			if k.dimension == by && k.value == all[i].Value {
				leave(&all[i], *n, s.WithoutDoubt)
			}
		}
	}
	return slices.DeleteFunc(all, func(v batch.Share) bool { return v.Inspected == 0 }), nil
}

// Trend counts the first judged inspections of a scope by model, revision and month, in that order, each with the reasons
// of those that failed, the commonest first.
func (db *DB) Trend(ctx context.Context, s batch.Scope) ([]batch.TrendRow, error) {
	where, args := scoped(s)
	type cell struct {
		batch.TrendRow
		dimension batch.Dimension
	}
	cells, err := list(ctx, db.reader, func(r scanner) (c cell, err error) {
		return c, r.Scan(&c.SpecName, &c.Revision, &c.Month, &c.dimension, &c.Value, &c.Inspected, &c.FirstPass, &c.FinalPass)
	}, `SELECT sp.name, sp.revision, f.month, f.dimension, f.value, sum(f.inspected), sum(f.passed), sum(f.final)`+fmt.Sprintf(fromScope, "first_tally")+where+
		`AND f.dimension IN ('', 'near', 'reason') GROUP BY sp.name, sp.revision, f.month, f.dimension, f.value
		HAVING sum(f.inspected) > 0 ORDER BY 1, 2, 3, 4`, args...) // the dimension '' comes first of each
	if err != nil {
		return nil, translate(err, "reading the trend")
	}
	out, err := db.doubtfulOf(ctx, s)
	if err != nil {
		return nil, err
	}
	for k, n := range out.firsts {
		for i := range cells {
			c := &cells[i]
			if spec := out.specs[k.batch]; k.dimension == c.dimension && k.value == c.Value && k.month == c.Month && spec[1] == c.SpecName && spec[2] == c.Revision {
				leave(&c.Share, *n, s.WithoutDoubt)
			}
		}
	}
	var rows []batch.TrendRow
	for _, c := range cells {
		if c.Inspected == 0 {
			continue
		}
		switch c.dimension {
		case batch.ByAll:
			rows = append(rows, c.TrendRow)
		case batch.ByNear:
			rows[len(rows)-1].Near = c.Inspected
		case batch.ByReason:
			last := &rows[len(rows)-1]
			last.Reasons = append(last.Reasons, batch.Reason{Name: c.Value, Necks: c.Inspected})
		}
	}
	for _, r := range rows {
		sort.SliceStable(r.Reasons, func(i, j int) bool { return r.Reasons[i].Necks > r.Reasons[j].Necks })
	}
	return rows, nil
}

// splitColumns are what a split groups by: month, gauge, batch, model, revision; ” or 0 where it does not.
var splitColumns = map[batch.Split]string{
	batch.SplitNone:  `0, '', '', '', ''`,
	batch.SplitMonth: `f.month, '', '', '', ''`,
	batch.SplitGauge: `0, f.gauge_id, '', '', ''`,
	batch.SplitBatch: `0, '', b.number, '', ''`,
	batch.SplitSpec:  `0, '', '', sp.name, sp.revision`,

	batch.SplitMonthSpec: `f.month, '', '', sp.name, sp.revision`,
	batch.SplitStratum:   `f.month, f.gauge_id, b.number, sp.name, sp.revision`,
}

// Characteristics sums the first measurements of a scope's limited characteristics, of all or of those of one name, by
// characteristic and within it by the split. ErrInput: no such split.
func (db *DB) Characteristics(ctx context.Context, s batch.Scope, name string, split batch.Split) ([]batch.CharacteristicRow, error) {
	const what = "reading the characteristics"
	columns, ok := splitColumns[split]
	if !ok {
		return nil, fmt.Errorf("%s: %w: found split %q", what, ErrInput, split)
	}
	out, err := db.doubtfulOf(ctx, s)
	if err != nil {
		return nil, err
	}
	where, args := scoped(s)
	var all []batch.CharacteristicRow
	for c, err := range stream(ctx, db, what, func(r scanner) (c batch.CharacteristicRow, err error) {
		var v valueSums
		var k valueKey
		err = r.Scan(&k.batch, &k.month, &k.gauge, &c.Month, &c.GaugeID, &c.Batch, &c.SpecName, &c.Revision, &c.Name, &c.Track, &c.String, &c.Fret, &c.HeldFret, &c.Unit,
			&v.n, &v.ref, &v.s1, &v.s2, &v.nonconforming, &v.undecided, &v.unmeasured, &v.near)
		k.Named = c.Named
		c.InDoubt = v.less(out.values[k], s.WithoutDoubt)
		c.Moments = batch.MomentsOf(v.n, v.ref, v.s1, v.s2)
		c.Nonconforming, c.Undecided, c.NotMeasured, c.Near = v.nonconforming, v.undecided, v.unmeasured, v.near
		return c, err
	}, `SELECT f.batch_ord, f.month, f.gauge_id, `+columns+`, f.name, f.track, f.string, f.fret, f.held_fret, f.unit, f.n, f.ref, f.s1, f.s2, f.nonconforming, f.undecided, f.unmeasured, f.near`+
		fmt.Sprintf(fromScope, "characteristic_tally")+where+`AND (?6 = '' OR f.name = ?6) AND (f.n > 0 OR f.unmeasured > 0 OR f.nonconforming > 0 OR f.undecided > 0)
		ORDER BY f.name, f.track, f.string, f.fret, f.held_fret, f.unit, 4, 5, 6, 7, 8`, append(args, name)...) {
		if err != nil {
			return nil, err
		}
		if last := len(all) - 1; last >= 0 && sameRow(&all[last], &c) {
			o := &all[last]
			o.Moments = o.Plus(c.Moments)
			o.Nonconforming, o.Undecided, o.NotMeasured, o.Near = o.Nonconforming+c.Nonconforming, o.Undecided+c.Undecided, o.NotMeasured+c.NotMeasured, o.Near+c.Near
			o.InDoubt += c.InDoubt
			continue
		}
		all = append(all, c)
	}
	return all, nil
}

func sameRow(a, b *batch.CharacteristicRow) bool {
	return a.Named == b.Named && a.Month == b.Month && a.GaugeID == b.GaugeID && a.Batch == b.Batch && a.SpecName == b.SpecName && a.Revision == b.Revision
}
