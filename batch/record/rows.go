package record

import (
	"database/sql"
	"errors"
)

// rowsAtOnce is how many rows one INSERT takes: the statement's own cost then no longer shows.
const rowsAtOnce = 200

// rows writes many rows of one table with few statements. The rows are in the table only after end.
type rows struct {
	t          *tx
	head, tail string // of the INSERT, before and after the values
	columns    int
	whole      *sql.Stmt
	args       []any
}

// rows begins writing rows; head is the INSERT up to its columns, tail what stands after the values.
func (t *tx) rows(head string, columns int, tail string) *rows {
	return &rows{t: t, head: head + ` VALUES `, tail: tail, columns: columns}
}

// add takes one row's values in the order of the columns.
func (r *rows) add(values ...any) error {
	r.args = append(r.args, values...)
	if len(r.args) < rowsAtOnce*r.columns {
		return nil
	}
	if r.whole == nil {
		var err error
		if r.whole, err = r.t.PrepareContext(r.t.ctx, r.head+places(r.columns, rowsAtOnce)+r.tail); err != nil {
			return err
		}
	}
	_, err := r.whole.ExecContext(r.t.ctx, r.args...)
	r.args = r.args[:0]
	return err
}

// flush writes the rows that wait.
func (r *rows) flush() error {
	if len(r.args) == 0 {
		return nil
	}
	err := r.t.exec(r.head+places(r.columns, len(r.args)/r.columns)+r.tail, r.args...)
	r.args = r.args[:0]
	return err
}

// end writes what is left.
func (r *rows) end() error {
	err := r.flush()
	if r.whole != nil {
		err = errors.Join(err, r.whole.Close())
	}
	return err
}
