package record

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"fmt"
	"slices"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// saw is told of a row before it is written.
func (e *evidence) saw(d sqlite.SQLitePreUpdateData) {
	if e.tables == nil || d.DatabaseName != "main" {
		return
	}
	t, known := e.tables[d.TableName]
	switch {
	case known && d.Op != sqlite3.SQLITE_INSERT:
		e.amiss = "rows of " + d.TableName + " are never changed or removed"
	case known && t.numbered:
		e.inserted(d.TableName, d.NewRowID)
		if e.firm {
			e.digest(&t, d)
		}
	case known:
		values := make([]any, t.keyAt+1)
		if err := d.New(values...); err != nil {
			e.amiss = err.Error()
		}
		key, _ := values[t.keyAt].(int64)
		e.inserted(d.TableName, key)
	case !slices.Contains(outsideTree, d.TableName) && !strings.HasPrefix(d.TableName, "serial_parts"):
		e.amiss = "the table " + d.TableName + " is none that evidence is kept of"
	}
}

// digest takes a row into its table's digest as it is written. A number of a column for those stands in the row as a whole one where it is
// one, which reading it undoes.
func (e *evidence) digest(t *factTable, d sqlite.SQLitePreUpdateData) {
	sum := e.sums[t.name]
	if sum == nil {
		sum = &rowsSum{hash: sha256.New(), values: make([]any, len(t.columns))}
		e.sums[t.name] = sum
	}
	clear(sum.values)
	if err := d.New(sum.values...); err != nil || sum.count > 0 && d.NewRowID <= sum.last {
		sum.loose = true
	}
	for i, real := range t.reals {
		if whole, is := sum.values[i].(int64); real && is {
			sum.values[i] = float64(whole)
		}
	}
	if err := sum.add(sum.values); err != nil {
		sum.loose = true
	}
	sum.last = d.NewRowID
}

// tablesOfFacts are the tables that the tree covers: all but those of outsideTree, by name.
func tablesOfFacts(ctx context.Context, q querier) (map[string]factTable, error) {
	type column struct {
		table, sql, name, kind string
		primary                int
	}
	all, err := list(ctx, q, func(r scanner) (c column, err error) {
		return c, r.Scan(&c.table, &c.sql, &c.name, &c.kind, &c.primary)
	},
		`SELECT t.name, t.sql, c.name, c.type, c.pk FROM sqlite_schema t JOIN pragma_table_info(t.name) c
		WHERE t.type = 'table' AND t.name NOT LIKE 'sqlite\_%' ESCAPE '\' AND t.name NOT LIKE 'serial\_parts%' ESCAPE '\' ORDER BY t.name, c.cid`)
	if err != nil {
		return nil, err
	}
	tables := map[string]factTable{}
	for _, c := range all {
		if slices.Contains(outsideTree, c.table) {
			continue
		}
		t := tables[c.table]
		t.name, t.numbered = c.table, !strings.Contains(c.sql, "WITHOUT ROWID")
		quoted := `"` + c.name + `"`
		if c.primary == 1 {
			t.key, t.keyAt = quoted, len(t.columns)
		}
		if c.primary > 0 {
			t.order += ", " + quoted
		}
		t.columns, t.reals = append(t.columns, quoted), append(t.reals, c.kind == "REAL")
		tables[c.table] = t
	}
	for name, t := range tables {
		if t.key == "" {
			return nil, fmt.Errorf("%w: the table %s has no key that orders its rows", ErrAudit, name)
		}
		t.order = t.order[2:]
		tables[name] = t
	}
	return tables, nil
}

// schemaOf is the schema that the migrations make.
func schemaOf(ctx context.Context) (map[string]string, error) {
	pool, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		return nil, err
	}
	defer func() { _ = pool.Close() }()
	pool.SetMaxOpenConns(1)
	steps, err := provider(pool)
	if err != nil {
		return nil, err
	}
	if _, err := steps.Up(ctx); err != nil {
		return nil, err
	}
	return schemaParts(ctx, pool)
}

// schemaParts are the parts of a schema by kind and name, with their text.
func schemaParts(ctx context.Context, q querier) (map[string]string, error) {
	parts := map[string]string{}
	_, err := list(ctx, q, func(r scanner) (struct{}, error) {
		var kind, name, text string
		err := r.Scan(&kind, &name, &text)
		parts[kind+" "+name] = strings.Join(strings.Fields(text), " ")
		return struct{}{}, err
	}, `SELECT type, name, tbl_name || ' ' || coalesce(sql, '') FROM sqlite_schema WHERE name NOT IN ('sqlite_sequence', 'sqlite_stat1', 'sqlite_stat4')`)
	return parts, err
}
