package record

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
)

// stratified are the dimensions that first inspections are compared by.
var stratified = []batch.Dimension{batch.ByAll, batch.ByInspector, batch.ByStation, batch.ByGauge, batch.ByHour, batch.ByWeekday, batch.ByHumidity}

// stratumKey is one count of the strata.
type stratumKey struct {
	batch.Stratum
	dimension batch.Dimension
	value     string
}

// stratumCounts are the counts by their keys, in the order in which they come.
type stratumCounts struct {
	of    map[stratumKey]batch.Share
	order []stratumKey
}

func (c *stratumCounts) add(k stratumKey, inspected, passed int) {
	n, known := c.of[k]
	if !known {
		c.order = append(c.order, k)
	}
	n.Inspected, n.FirstPass = n.Inspected+inspected, n.FirstPass+passed
	c.of[k] = n
}

// Strata counts the first judged inspections of a scope by dimension and stratum, values in their order.
func (db *DB) Strata(ctx context.Context, s batch.Scope) (batch.Strata, error) {
	const what = "counting first inspections like with like"
	spans, err := db.BadSpans(ctx)
	if err != nil {
		return batch.Strata{}, err
	}
	counts := stratumCounts{of: map[stratumKey]batch.Share{}}
	where, args := scoped(s)
	places, dimensions := make([]string, len(stratified)), args
	for i, d := range stratified {
		places[i], dimensions = "?"+strconv.Itoa(len(args)+1+i), append(dimensions, d)
	}
	for k, err := range stream(ctx, db, what, func(r scanner) (k struct {
		stratumKey
		inspected, passed int
	}, err error) {
		return k, r.Scan(&k.Batch, &k.SpecName, &k.Revision, &k.Month, &k.dimension, &k.value, &k.inspected, &k.passed)
	}, `SELECT b.number, sp.name, sp.revision, f.month, f.dimension, f.value, f.inspected, f.passed`+fmt.Sprintf(fromScope, "first_tally")+where+
		`AND f.dimension IN (`+strings.Join(places, ", ")+`) AND f.inspected > 0 ORDER BY f.dimension, f.value, b.ord, f.month`, dimensions...) {
		if err != nil {
			return batch.Strata{}, err
		}
		counts.add(k.stratumKey, k.inspected, k.passed)
	}
	out, err := db.leaveDoubtful(ctx, s, &counts)
	if err != nil {
		return batch.Strata{}, err
	}
	for i, span := range spans {
		necks, err := db.firstsIn(ctx, s, span)
		if err != nil {
			return batch.Strata{}, translate(err, what)
		}
		for j := range necks {
			if n := &necks[j]; !out[n.neck] {
				out[n.neck] = true // it stands in one span alone
				counts.move(n, i+1)
			}
		}
	}
	all := batch.Strata{Spans: spans, Shares: map[batch.Dimension][]batch.StratumShare{}}
	for _, k := range counts.order {
		if n := counts.of[k]; n.Inspected > 0 {
			all.Shares[k.dimension] = append(all.Shares[k.dimension], batch.StratumShare{Stratum: k.Stratum, Value: k.value, Inspected: n.Inspected, FirstPass: n.FirstPass})
		}
	}
	return all, nil
}

// leaveDoubtful takes off what is in doubt where the scope leaves it out, and returns its necks.
func (db *DB) leaveDoubtful(ctx context.Context, s batch.Scope, counts *stratumCounts) (map[int64]bool, error) {
	necks := map[int64]bool{}
	if !s.WithoutDoubt {
		return necks, nil
	}
	out, err := db.doubtfulOf(ctx, s)
	if err != nil {
		return nil, err
	}
	for k, n := range out.firsts {
		of := out.specs[k.batch]
		if slices.Contains(stratified, k.dimension) {
			counts.add(stratumKey{batch.Stratum{Batch: of[0], SpecName: of[1], Revision: of[2], Month: k.month}, k.dimension, k.value}, -n[0], -n[1])
		}
	}
	for neck := range out.necks {
		necks[neck] = true
	}
	return necks, nil
}

// move puts a first inspection into a span's stratum.
func (c *stratumCounts) move(n *stratumFirst, span int) {
	passed := 0
	if n.passed {
		passed = 1
	}
	in := n.Stratum
	in.Span = span
	n.counted(n.uses, func(d batch.Dimension, v string) {
		if slices.Contains(stratified, d) {
			c.add(stratumKey{n.Stratum, d, v}, -1, -passed)
			c.add(stratumKey{in, d, v}, 1, passed)
		}
	})
}

// stratumFirst is a first inspection with its stratum.
type stratumFirst struct {
	first
	batch.Stratum
	uses []batch.GaugeUse
}

// firstsIn are the first inspections of a scope in which a gauge was used while it may have read wrong.
func (db *DB) firstsIn(ctx context.Context, s batch.Scope, span batch.BadSpan) ([]stratumFirst, error) {
	where, args := scoped(s)
	all, err := list(ctx, db.reader, func(r scanner) (n stratumFirst, err error) {
		if err = r.Scan(append(n.into(), &n.Batch, &n.SpecName, &n.Revision)...); err == nil {
			n.Month = n.month
			n.uses, err = parseUses(n.gauges)
		}
		return n, err
	}, `SELECT f.neck_ord, f.batch_ord, f.verdict_ord, f.at, f.month, f.weekday, f.hour, f.inspector, f.station, f.gauges, f.temperature_c, f.humidity_percent,
		f.passed, f.final, f.near, f.reason, f.failing, b.number, sp.name, sp.revision
		FROM neck_first f CROSS JOIN batches b ON b.ord = f.batch_ord CROSS JOIN specs sp ON sp.id = b.spec_id `+where+
		`AND f.at >= ?6 AND f.at < ?7 AND instr(f.gauges, ?8) > 0`, append(args, nanos(span.From), nanos(span.To), span.GaugeID)...)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(n stratumFirst) bool {
		return !slices.ContainsFunc(n.uses, func(u batch.GaugeUse) bool { return u.GaugeID == span.GaugeID })
	}), nil
}
