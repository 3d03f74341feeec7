package record

import (
	"database/sql"
	"errors"
	"strings"
)

// rowsAtOnce is about how many rows one INSERT takes: the statement's own cost then no longer shows.
const rowsAtOnce = 200

// rows writes many rows of one table with few statements. The rows are in the table only after end.
type rows struct {
	t          *tx
	head, tail string // of the INSERT, before and after the values
	group      string // the text of one group of rows: most often of one, all marks
	values     int    // marks in it
	atOnce     int    // groups to a statement
	whole      *sql.Stmt
	args       []any
	sink       sink // nil: rows are written at once
}

// sink takes the values of atOnce groups of rows, or of the last few, to be written elsewhere; none mean that these were all.
type sink func(r *rows, args []any) error

// rows begins writing rows; head is the INSERT up to its columns, tail what stands after the values.
func (t *tx) rows(head string, columns int, tail string) *rows {
	return &rows{t: t, head: head, tail: tail, group: places(columns), values: columns, atOnce: rowsAtOnce}
}

// add takes one group's values in their order; for plain rows, one row's in the order of the columns.
func (r *rows) add(values ...any) error {
	r.args = append(r.args, values...)
	if len(r.args) < r.atOnce*r.values {
		return nil
	}
	return r.flush()
}

// flush hands on the rows that wait.
func (r *rows) flush() error {
	if len(r.args) == 0 {
		return nil
	}
	if r.sink != nil {
		args := r.args
		r.args = nil
		return r.sink(r, args)
	}
	err := r.insert(r.args)
	r.args = r.args[:0]
	return err
}

// insert writes the rows of some values.
func (r *rows) insert(args []any) error {
	groups := len(args) / r.values
	if groups < r.atOnce {
		return r.t.exec(r.text(groups), args...)
	}
	if r.whole == nil {
		var err error
		if r.whole, err = r.t.PrepareContext(r.t.ctx, r.text(groups)); err != nil {
			return err
		}
	}
	_, err := r.whole.ExecContext(r.t.ctx, args...)
	return err
}

// text is the INSERT of so many groups.
func (r *rows) text(groups int) string {
	return r.head + " VALUES " + r.group + strings.Repeat(", "+r.group, groups-1) + r.tail
}

// end writes what is left.
func (r *rows) end() error {
	if r.sink != nil {
		if err := r.flush(); err != nil {
			return err
		}
		return r.sink(r, nil)
	}
	return errors.Join(r.flush(), r.close())
}

// close lets the statement go.
func (r *rows) close() error {
	if r.whole == nil {
		return nil
	}
	err := r.whole.Close()
	r.whole = nil
	return err
}
