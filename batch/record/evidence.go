package record

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/mod/sumdb/tlog"
)

// Every transaction that writes rows of facts leaves an entry with their digests. The entries are the leaves of a tree of hashes
// (RFC 6962, section 2.1), whose root at a size says all that was written until then. Which rows these are SQLite itself tells, row by
// row, so that nothing written is left out but what outsideTree names.

// entryHead begins an entry; the number is the version of its form and of the rows' encoding.
const entryHead = "rows 1\n"

// auditSealed is what the trail says where rows from before the evidence are covered.
const auditSealed = "record sealed"

// outsideTree are the tables that the tree does not cover: those that are derived, which are compared by working them out anew, sessions,
// which are no facts and end, and the tree itself.
var outsideTree = append([]string{"sessions"}, notSalvaged...)

// evidence gathers which rows a transaction writes. Only the one connection that writes uses it.
type evidence struct {
	tables  map[string]factTable
	written map[string]keyRange
	amiss   string // why the transaction must not be kept; "" where nothing is
	firm    bool   // a statement that fails ends the transaction, and no text that it writes holds a NUL: rows are digested as they are written
	sums    map[string]*rowsSum

	add   *sql.Stmt // of an entry
	size  int64     // entries that there are; unread is that this is not known
	edge  edge      // of their tree
	grown []tlog.Hash
}

// unread is the size of a tree that is to be read first.
const unread = -1

// keyRange is from the first key to the last.
type keyRange struct{ from, to int64 }

// inserted notes a row by its key.
func (e *evidence) inserted(table string, key int64) {
	s, had := e.written[table]
	if !had {
		s = keyRange{key, key}
	}
	e.written[table] = keyRange{min(s.from, key), max(s.to, key)}
}

// prepare begins to keep evidence, and parses what is asked at every commit.
func (e *evidence) prepare(ctx context.Context, pool *sql.DB) (err error) {
	e.size = unread
	if e.tables, err = tablesOfFacts(ctx, pool); err != nil {
		return err
	}
	if e.add, err = pool.PrepareContext(ctx, `INSERT INTO evidence (ord, entry, hashes) VALUES (?, ?, ?)`); err != nil {
		return err
	}
	for name, t := range e.tables {
		if t.read, err = pool.PrepareContext(ctx, t.query()); err != nil {
			return err
		}
		e.tables[name] = t
	}
	return nil
}

func (e *evidence) close() error {
	if e.add == nil {
		return nil
	}
	errs := []error{e.add.Close()}
	for _, t := range e.tables {
		if t.read != nil {
			errs = append(errs, t.read.Close())
		}
	}
	return errors.Join(errs...)
}

// begin forgets what an earlier transaction wrote, and reads the tree's edge where it is not known.
func (e *evidence) begin(ctx context.Context, q querier) error {
	e.written, e.amiss, e.grown = map[string]keyRange{}, "", nil
	e.firm, e.sums = false, map[string]*rowsSum{}
	if e.tables == nil || e.size != unread {
		return nil
	}
	var size int64
	if err := q.QueryRowContext(ctx, `SELECT coalesce(max(ord), 0) FROM evidence`).Scan(&size); err != nil {
		return err
	}
	for level := range e.edge {
		if size>>level&1 == 0 {
			continue
		}
		newest, err := treeHashes{ctx, q}.ReadHashes([]int64{tlog.StoredHashIndex(level, size>>level-1)})
		if err != nil {
			return err
		}
		e.edge[level] = newest[0]
	}
	e.size = size
	return nil
}

// ended takes in the entry that was committed; where it cannot be told whether it was, the tree's edge is read again.
func (e *evidence) ended(err error) {
	switch {
	case e.grown == nil:
	case err != nil:
		e.size = unread
	default:
		e.size++
		copy(e.edge[:], e.grown)
	}
}

// attest adds the entry of what the transaction wrote.
func (t *tx) attest(e *evidence) error {
	if e.amiss != "" {
		return fmt.Errorf("%w: %s", ErrAudit, e.amiss)
	}
	if len(e.written) == 0 {
		return nil
	}
	ctx := context.WithoutCancel(t.ctx) // a transaction whose context ended takes nothing; to watch it costs more than this does
	entry := []byte(entryHead)
	for _, name := range slices.Sorted(maps.Keys(e.written)) {
		table, s := e.tables[name], e.written[name]
		l := entryLine{table: name, columns: len(table.columns), to: s.to}
		if sum := e.sums[name]; sum != nil && !sum.loose {
			l.count, l.sum = sum.count, sum.hex()
		} else if err := t.read(ctx, &l, &table, s.from); err != nil {
			return err
		}
		if l.count > 0 { // what failed alone is not there
			entry = l.append(entry)
		}
	}
	grown, err := tlog.StoredHashes(e.size, entry, &e.edge)
	if err != nil {
		return err
	}
	e.grown = grown
	_, err = t.StmtContext(ctx, e.add).ExecContext(ctx, e.size+1, string(entry), joined(grown))
	return err
}

// read digests the rows of a table from a key on.
func (t *tx) read(ctx context.Context, l *entryLine, table *factTable, from int64) error {
	rows, err := t.StmtContext(ctx, table.read).QueryContext(ctx, from)
	if err != nil {
		return err
	}
	c := table.ahead(rows)
	l.count, l.sum, err = c.digest(l.to, l.columns)
	return c.end(err)
}

// entryLine says of one table what a transaction wrote: the rows after those of the entries before it, up to a key.
type entryLine struct {
	table   string
	columns int // the first so many are in the digest
	to      int64
	count   int
	sum     string // SHA-256 in hex
}

// append writes the line behind a text.
func (l entryLine) append(text []byte) []byte {
	text = append(append(text, l.table...), ' ')
	text = append(strconv.AppendInt(text, int64(l.columns), 10), ' ')
	text = append(strconv.AppendInt(text, l.to, 10), ' ')
	text = append(strconv.AppendInt(text, int64(l.count), 10), ' ')
	return append(append(text, l.sum...), '\n')
}

// entryLines reads an entry. ErrAudit where it is none.
func entryLines(entry string) (lines []entryLine, err error) {
	rest, ok := strings.CutPrefix(entry, entryHead)
	if !ok {
		return nil, fmt.Errorf("%w: found %q; an entry of the evidence begins with %q", ErrAudit, entry, entryHead)
	}
	for text := range strings.Lines(rest) {
		f := strings.Fields(text)
		if len(f) != 5 {
			return nil, fmt.Errorf("%w: found %q in an entry of the evidence; allowed are a table, columns, a key, rows and their digest", ErrAudit, text)
		}
		l := entryLine{table: f[0], sum: f[4]}
		var errs [3]error
		l.columns, errs[0] = strconv.Atoi(f[1])
		l.to, errs[1] = strconv.ParseInt(f[2], 10, 64)
		l.count, errs[2] = strconv.Atoi(f[3])
		if errs != [3]error{} || l.columns < 1 {
			return nil, fmt.Errorf("%w: found %q in an entry of the evidence; allowed are whole numbers", ErrAudit, text)
		}
		lines = append(lines, l)
	}
	return lines, nil
}

// treeHashes reads the tree's stored hashes.
type treeHashes struct {
	ctx context.Context
	q   querier
}

// ReadHashes returns the hashes of stored indexes.
func (h treeHashes) ReadHashes(indexes []int64) ([]tlog.Hash, error) {
	all := make([]tlog.Hash, len(indexes))
	for i, index := range indexes {
		level, n := tlog.SplitStoredHashIndex(index)
		leaf := (n + 1) << level
		var hashes []byte
		if err := h.q.QueryRowContext(h.ctx, `SELECT hashes FROM evidence WHERE ord = ?`, leaf).Scan(&hashes); err != nil {
			return nil, fmt.Errorf("the evidence's entry %d: %w", leaf, err)
		}
		if len(hashes) < (level+1)*tlog.HashSize {
			return nil, fmt.Errorf("%w: the evidence's entry %d lacks a hash", ErrAudit, leaf)
		}
		copy(all[i][:], hashes[level*tlog.HashSize:])
	}
	return all, nil
}

func joined(hashes []tlog.Hash) []byte {
	text := make([]byte, 0, len(hashes)*tlog.HashSize)
	for _, h := range hashes {
		text = append(text, h[:]...)
	}
	return text
}

// sealed has the rows of a record from before the evidence covered by its first entry.
func (db *DB) sealed(ctx context.Context) error {
	var has bool
	if err := db.writer.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM evidence)`).Scan(&has); err != nil || has {
		return err
	}
	return db.write(ctx, "sealing an older record's rows", func(t *tx) error {
		rows := 0
		for name, table := range db.evidence.tables {
			var s keyRange
			var count int
			if err := t.row(fmt.Sprintf(`SELECT count(*), coalesce(min(%[1]s), 0), coalesce(max(%[1]s), 0) FROM "%[2]s"`, table.key, name)).Scan(&count, &s.from, &s.to); err != nil {
				return err
			}
			if count > 0 {
				db.evidence.written[name] = s
			}
			rows += count
		}
		if rows == 0 {
			return nil
		}
		return t.audit("station", auditSealed, "rows written before there was evidence over every row", fmt.Sprintf("%d rows", rows))
	})
}
