package record

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"golang.org/x/mod/sumdb/tlog"
)

// verifyEvidence recomputes the tree from its first entry, every row under it, finds rows that no entry covers, and compares the signed checkpoints. All tables are
// read side by side, one row of each at a time.
func verifyEvidence(ctx context.Context, q querier) error {
	tables, err := tablesOfFacts(ctx, q)
	if err != nil {
		return err
	}
	v := verifying{ctx: ctx, q: q, tables: tables, open: map[string]*facts{}}
	defer func() {
		for _, f := range v.open {
			_ = f.rows.Close()
		}
	}()
	signed, err := openSigned(ctx, q)
	if err != nil {
		return err
	}
	defer func() { _ = signed.rows.Close() }()
	rows, err := q.QueryContext(ctx, `SELECT ord, entry, hashes FROM evidence ORDER BY ord`)
	if err != nil {
		return err
	}
	defer func() { _ = rows.Close() }()
	for next := int64(1); rows.Next(); next++ {
		var ord int64
		var entry string
		var hashes []byte
		if err := rows.Scan(&ord, &entry, &hashes); err != nil {
			return err
		}
		if ord != next {
			return fmt.Errorf("%w: entry %d of the evidence is missing", ErrAudit, next)
		}
		if err := v.entry(ord, entry, hashes); err != nil {
			return err
		}
		if err := signed.at(ord, &v.edge); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	if err := v.rest(); err != nil {
		return err
	}
	return signed.end()
}

// verifying goes through the evidence and the rows.
type verifying struct {
	ctx    context.Context
	q      querier
	tables map[string]factTable
	open   map[string]*facts
	edge   edge
}

// edge is the newest hash of each level of the tree.
type edge [64]tlog.Hash

// ReadHashes returns hashes of the tree's right edge, which are all that its next leaf needs.
func (e *edge) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	all := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		level, _ := tlog.SplitStoredHashIndex(index)
		all[i] = e[level]
	}
	return all, nil
}

func (v *verifying) facts(table string) (*facts, error) {
	if f := v.open[table]; f != nil {
		return f, nil
	}
	t, known := v.tables[table]
	if !known {
		return nil, fmt.Errorf("%w: the table %s, of which there is evidence, is missing", ErrAudit, table)
	}
	f, err := openFacts(v.ctx, v.q, t, -1<<63)
	if err == nil {
		v.open[table] = f
	}
	return f, err
}

// entry recomputes an entry of the evidence: its rows, then its hashes.
func (v *verifying) entry(ord int64, entry string, hashes []byte) error {
	lines, err := entryLines(entry)
	if err != nil {
		return fmt.Errorf("entry %d: %w", ord, err)
	}
	for _, l := range lines {
		f, err := v.facts(l.table)
		if err != nil {
			return err
		}
		from := l.to // of what is left
		if f.more {
			from = min(f.at(), l.to)
		}
		count, sum, err := f.digest(l.to, l.columns)
		switch {
		case err != nil:
			return err
		case count < l.count:
			return fmt.Errorf("%w: of %s, which entry %d of the evidence names as %s, %s", ErrAudit, v.rowsOf(l.table, from, l.to), ord, rowCount(l.count), thereAre(count))
		case count > l.count:
			return fmt.Errorf("%w: among %s are rows that were added: entry %d of the evidence names %s, %s", ErrAudit, v.rowsOf(l.table, from, l.to), ord, rowCount(l.count), thereAre(count))
		case sum != l.sum:
			return fmt.Errorf("%w: %s of entry %d of the evidence: what stands there is not as it was written", ErrAudit, v.rowsOf(l.table, from, l.to), ord)
		}
	}
	again, err := tlog.StoredHashes(ord-1, []byte(entry), &v.edge)
	if err != nil {
		return err
	}
	if string(joined(again)) != string(hashes) {
		return fmt.Errorf("%w: entry %d of the evidence is not as it was written: its hashes are others", ErrAudit, ord)
	}
	copy(v.edge[:], again)
	return nil
}

// rest finds rows that no entry covers.
func (v *verifying) rest() error {
	for _, name := range slices.Sorted(maps.Keys(v.tables)) {
		f, err := v.facts(name)
		if err != nil {
			return err
		}
		if f.err != nil {
			return f.err
		}
		if f.more {
			return fmt.Errorf("%w: %s: no entry of the evidence covers it: it was added beside the program, or the evidence was cut off", ErrAudit, v.rowsOf(name, f.at(), f.at()))
		}
	}
	return nil
}

// rowsOf names rows: their table, order numbers and what the first of them belongs to.
func (v *verifying) rowsOf(table string, from, to int64) string {
	t := v.tables[table]
	which := fmt.Sprintf("row %d of %s", from, table)
	if from < to {
		which = fmt.Sprintf("rows %d to %d of %s", from, to, table)
	}
	for _, owner := range owners {
		if !slices.Contains(t.columns, `"`+owner.column+`"`) {
			continue
		}
		var name string
		ask := fmt.Sprintf(`SELECT %s FROM "%s" r %s WHERE r.%s >= ? ORDER BY r.%s LIMIT 1`, owner.name, table, owner.join, t.key, t.key)
		if err := v.q.QueryRowContext(v.ctx, ask, from).Scan(&name); err == nil && name != "" {
			return which + " (" + owner.what + " " + name + ")"
		}
	}
	return which
}

// owners say by its columns what a row belongs to.
var owners = []struct{ column, what, name, join string }{
	{"serial", "neck", "r.serial", ""},
	{"inspection_id", "neck", "n.serial", "JOIN inspections i ON i.id = r.inspection_id JOIN necks n ON n.id = i.neck_id"},
	{"neck_id", "neck", "n.serial", "JOIN necks n ON n.id = r.neck_id"},
	{"verdict_ord", "neck", "n.serial", "JOIN verdicts v ON v.ord = r.verdict_ord JOIN inspections i ON i.id = v.inspection_id JOIN necks n ON n.id = i.neck_id"},
	{"batch_id", "batch", "b.number", "JOIN batches b ON b.id = r.batch_id"},
	{"number", "batch", "r.number", ""},
	{"gauge_id", "gauge", "r.gauge_id", ""},
	{"name", "name", "r.name", ""},
	{"about", "about", "r.about", ""},
}

func rowCount(n int) string {
	if n == 1 {
		return "1 row"
	}
	return fmt.Sprintf("%d rows", n)
}

func thereAre(n int) string {
	switch n {
	case 0:
		return "none is there"
	case 1:
		return "1 is there"
	}
	return fmt.Sprintf("%d are there", n)
}

// verifySchema compares tables, indexes, views and triggers with those that the program's own migrations make.
func verifySchema(ctx context.Context, q querier) error {
	want, err := schemaOf(ctx)
	if err != nil {
		return err
	}
	has, err := schemaParts(ctx, q)
	if err != nil {
		return err
	}
	for _, part := range slices.Sorted(maps.Keys(want)) {
		switch text, is := has[part]; {
		case !is:
			return fmt.Errorf("%w: the record's %s is missing", ErrAudit, part)
		case text != want[part]:
			return fmt.Errorf("%w: the record's %s is not as this program makes it", ErrAudit, part)
		}
	}
	for _, part := range slices.Sorted(maps.Keys(has)) {
		if _, is := want[part]; !is {
			return fmt.Errorf("%w: the record has a %s, which this program does not make", ErrAudit, part)
		}
	}
	return nil
}
