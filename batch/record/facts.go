package record

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"math"
	"strings"
)

// factTable is a table of facts: its columns in order, and by what its rows are ordered.
type factTable struct {
	name     string
	columns  []string
	reals    []bool // of each, whether it holds numbers
	key      string // the first column of the primary key, whole numbers that grow
	keyAt    int    // its place among the columns
	order    string // all columns of the primary key
	numbered bool   // the key is the number by which the file knows a row

	read *sql.Stmt // its rows from a key on, parsed for the connection that writes
}

// query reads the rows from a key on.
func (t *factTable) query() string {
	return fmt.Sprintf(`SELECT %s FROM "%s" WHERE %s >= ? ORDER BY %s`, strings.Join(t.columns, ", "), t.name, t.key, t.order)
}

// facts reads a table's rows in their order, one ahead.
type facts struct {
	factTable
	rows   *sql.Rows
	values []any
	into   []any
	more   bool
	err    error
	pace   *pace
}

// openFacts reads a table's rows from a key on.
func openFacts(ctx context.Context, q querier, t factTable, from int64) (*facts, error) {
	rows, err := q.QueryContext(ctx, t.query(), from)
	if err != nil {
		return nil, err
	}
	f := t.ahead(rows)
	f.pace = paceOf(ctx)
	return f, nil
}

// ahead reads the first of a table's rows.
func (t *factTable) ahead(rows *sql.Rows) *facts {
	f := &facts{factTable: *t, rows: rows, values: make([]any, len(t.columns)), into: make([]any, len(t.columns))}
	for i := range f.values {
		f.into[i] = &f.values[i]
	}
	f.next()
	return f
}

func (f *facts) next() {
	f.pace.step()
	if f.more = f.rows.Next(); f.more {
		f.err = f.rows.Scan(f.into...)
	} else {
		f.err = f.rows.Err()
	}
}

// at is the key of the row that comes next.
func (f *facts) at() int64 {
	key, _ := f.values[f.keyAt].(int64)
	return key
}

// digest takes the rows up to a key: how many they are and the SHA-256 in hex over the first columns of each.
func (f *facts) digest(to int64, columns int) (count int, sum string, err error) {
	rows := rowsSum{hash: sha256.New()}
	for f.more && f.err == nil && f.at() <= to {
		if err := rows.add(f.values[:min(columns, len(f.values))]); err != nil {
			return 0, "", fmt.Errorf("%s %d: %w", f.name, f.at(), err)
		}
		f.next()
	}
	return rows.count, rows.hex(), f.err
}

// rowsSum is a digest of rows in the making.
type rowsSum struct {
	hash  hash.Hash
	count int
	text  []byte // of a row

	last   int64 // key, where rows are taken as they are written
	values []any
	loose  bool // it is none of these rows in their order
}

// add takes a row: its values, with their length before them.
func (s *rowsSum) add(values []any) (err error) {
	s.text = append(s.text[:0], 0, 0, 0, 0, 0, 0, 0, 0)
	for _, v := range values {
		if s.text, err = appendValue(s.text, v); err != nil {
			return err
		}
	}
	binary.BigEndian.PutUint64(s.text, uint64(len(s.text)-8))
	s.hash.Write(s.text) // a hash takes every write
	s.count++
	return nil
}

func (s *rowsSum) hex() string { return hex.EncodeToString(s.hash.Sum(nil)) }

// end closes what reads them.
func (f *facts) end(err error) error { return errors.Join(err, f.rows.Close()) }

// appendValue writes a value as the digest takes it: its kind, then eight bytes of a number, or of a length before what is as long.
func appendValue(text []byte, v any) ([]byte, error) {
	switch v := v.(type) {
	case nil:
		return append(text, 'n'), nil
	case int64:
		return binary.BigEndian.AppendUint64(append(text, 'i'), uint64(v)), nil
	case float64:
		return binary.BigEndian.AppendUint64(append(text, 'f'), math.Float64bits(v)), nil
	case string:
		return append(binary.BigEndian.AppendUint64(append(text, 's'), uint64(len(v))), v...), nil
	case []byte:
		return append(binary.BigEndian.AppendUint64(append(text, 'b'), uint64(len(v))), v...), nil
	}
	return nil, fmt.Errorf("%w: found a value of the kind %T; allowed are whole numbers, numbers, texts and bytes", ErrAudit, v)
}
