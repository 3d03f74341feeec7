package record

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// What can be read of a damaged file is read row by row, in the order of a table's key: up to a damaged page, behind it, and backwards
// from the end.

// notSalvaged are tables that the new record makes for itself: the evidence over what was salvaged is begun anew.
var notSalvaged = append([]string{"goose_db_version", "evidence", "checkpoints"}, derivedTables...)

// probes is the most single rows that are asked for behind a damaged page.
const probes = 1 << 20

// salvaged is a table with what can be read of it.
type salvaged struct {
	name    string
	columns []string
	key     string // the column that rows are ordered by; whole numbers, where probed
	probed  bool

	read int
	lost int  // rows whose page is damaged, as far as they were asked for
	gone bool // nothing of it can be read
}

// factTables are the tables whose rows were written, with their columns.
func factTables(ctx context.Context, q querier) ([]salvaged, error) {
	all, err := list(ctx, q, func(r scanner) (t salvaged, err error) {
		var text string
		err = r.Scan(&t.name, &text)
		t.key, t.probed = "rowid", true
		if strings.Contains(text, "WITHOUT ROWID") {
			t.key = ""
		}
		return t, err
	}, `SELECT name, sql FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name NOT LIKE 'serial_parts%' ORDER BY rootpage`)
	if err != nil {
		return nil, err
	}
	all = slices.DeleteFunc(all, func(t salvaged) bool { return slices.Contains(notSalvaged, t.name) })
	for i := range all {
		t := &all[i]
		_, err := list(ctx, q, func(r scanner) (struct{}, error) {
			var name, kind string
			var primary int
			err := r.Scan(&name, &kind, &primary)
			t.columns = append(t.columns, `"`+name+`"`)
			if primary == 1 && t.key == "" {
				t.key, t.probed = name, kind == "INTEGER"
			}
			return struct{}{}, err
		}, `SELECT name, type, pk FROM pragma_table_info(?)`, t.name)
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}

// salvage copies what can be read of the table.
func (t *salvaged) salvage(ctx context.Context, from querier, to executor) error {
	last, err := t.copyRows(ctx, from, to, "ORDER BY "+t.key)
	if err == nil {
		return nil
	}
	if broken := fatal(ctx, err); broken != nil {
		return broken
	}
	end, err := t.copyRows(ctx, from, to, "ORDER BY "+t.key+" DESC")
	if broken := fatal(ctx, err); broken != nil {
		return broken
	}
	behind, isNumber := last.(int64)
	upto, known := end.(int64)
	switch {
	case last == nil && end == nil:
		t.gone = true
		return nil
	case !t.probed || last != nil && !isNumber:
		t.lost++
		return nil
	case !known || upto-behind > probes:
		upto = behind + probes
	}
	for k := behind + 1; k < upto; k++ {
		if _, err := t.copyRows(ctx, from, to, "WHERE "+t.key+" = ?", k); err != nil {
			if broken := fatal(ctx, err); broken != nil {
				return broken
			}
			t.lost++
		}
	}
	return nil
}

// copyRows copies rows up to the first that cannot be read, and returns the key of the last that was, nil where none was.
func (t *salvaged) copyRows(ctx context.Context, from querier, to executor, which string, args ...any) (last any, failed error) {
	rows, err := from.QueryContext(ctx, fmt.Sprintf(`SELECT %s, %s FROM "%s" %s`, t.key, strings.Join(t.columns, ", "), t.name, which), args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	insert := fmt.Sprintf(`INSERT OR IGNORE INTO "%s" (%s) VALUES %s`, t.name, strings.Join(t.columns, ", "), places(len(t.columns)))
	for rows.Next() {
		values, into := make([]any, len(t.columns)+1), make([]any, len(t.columns)+1)
		for i := range values {
			into[i] = &values[i]
		}
		if err := rows.Scan(into...); err != nil {
			return last, err
		}
		last = values[0]
		added, err := to.ExecContext(ctx, insert, values[1:]...)
		switch {
		case unfitRow(err): // a damaged value that no row can have
			t.lost++
		case err != nil:
			return last, notTaken{err}
		default:
			k, _ := added.RowsAffected() // this driver tells it always
			t.read += int(k)
		}
	}
	return last, rows.Err()
}

// notTaken is an error of the new record, not of the damaged one.
type notTaken struct{ error }

func (n notTaken) Unwrap() error { return n.error }

// fatal is an error that is none of the damaged file's.
func fatal(ctx context.Context, err error) error {
	var own notTaken
	switch {
	case errors.As(err, &own):
		return own.error
	case ctx.Err() != nil:
		return ctx.Err()
	}
	return nil
}

// unsafeWrites lets a record in the making be written without waiting for the disk.
func unsafeWrites(ctx context.Context, on executor) error {
	_, err := on.ExecContext(ctx, `PRAGMA synchronous = OFF`)
	return err
}
