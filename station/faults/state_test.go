package faults

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	_ "modernc.org/sqlite" // read here without the record's own eyes
)

// tableState is how many rows a table has, and their digest in the order of their numbers.
type tableState struct {
	rows int
	sum  string
}

// state is what a record holds: every table of it.
type state map[string]tableState

func (s state) String() string {
	var b strings.Builder
	for i, name := range slices.Sorted(maps.Keys(s)) {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, "%s:%d:%s", name, s[name].rows, s[name].sum)
	}
	return b.String()
}

func parseState(text string) (state, error) {
	s := state{}
	for part := range strings.SplitSeq(text, ",") {
		f := strings.Split(part, ":")
		if len(f) != 3 {
			return nil, fmt.Errorf("state %q", part)
		}
		rows, err := strconv.Atoi(f[1])
		if err != nil {
			return nil, err
		}
		s[f[0]] = tableState{rows, f[2]}
	}
	return s, nil
}

// differs names the first table in which two states are not the same; "" where there is none.
func (s state) differs(o state) string {
	for _, name := range slices.Sorted(maps.Keys(s)) {
		if o[name] != s[name] {
			return fmt.Sprintf("%s: %d rows %s and %d rows %s", name, s[name].rows, s[name].sum, o[name].rows, o[name].sum)
		}
	}
	if len(o) != len(s) {
		return fmt.Sprintf("%d tables and %d tables", len(s), len(o))
	}
	return ""
}

// raw opens a record's file without the record.
func raw(path string) (*sql.DB, error) {
	return sql.Open("sqlite", "file:"+(&url.URL{Path: path}).EscapedPath()+"?_pragma=busy_timeout(5000)")
}

// stateAside is stateUpTo of a copy: to read a record that nobody has open is to write its log into it.
func stateAside(t testing.TB, path string, had state) (state, error) {
	t.Helper()
	to := aside(t, path)
	s, err := stateUpTo(to, had)
	return s, errors.Join(err, os.RemoveAll(filepath.Dir(to)))
}

// aside is a copy of a record and its log.
func aside(t testing.TB, path string) string {
	t.Helper()
	to := filepath.Join(t.TempDir(), "record.db")
	for _, part := range []string{"", "-wal"} {
		content, err := os.ReadFile(path + part)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err == nil {
			err = os.WriteFile(to+part, content, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return to
}

// holding is what a record holds that was brought back: its tables, and its trail and evidence but for when that was.
type holding struct {
	tables state
	sealed string
}

// holdingAside is what a copy of a record holds.
func holdingAside(t testing.TB, path string) (h holding, err error) {
	t.Helper()
	if h.tables, err = stateAside(t, path, nil); err != nil {
		return h, err
	}
	h.tables = h.tables.apart()
	h.sealed, err = sealedAside(t, path)
	return h, err
}

// differs says how two differ; "" where they do not.
func (h holding) differs(o holding) string {
	if h.sealed != o.sealed {
		return fmt.Sprintf("the trail and the evidence hold %q and %q", h.sealed, o.sealed)
	}
	return h.tables.differs(o.tables)
}

// apart leaves out what an opening writes of the present moment: the trail, with the entry that seals an older record's rows, and the
// evidence over it are told by sealedAside.
func (s state) apart() state {
	left := state{}
	for name, table := range s {
		switch name {
		case "goose_db_version", "sqlite_sequence", "audit", "evidence":
		default:
			left[name] = table
		}
	}
	return left
}

// sealedAside is what a copy of a record holds in its trail, but for when an older record's rows were sealed or a copy was brought back and
// the hash over that, and in its evidence, but for the digest over the trail and the hashes over that.
func sealedAside(t testing.TB, path string) (text string, err error) {
	t.Helper()
	pool, err := raw(aside(t, path))
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, pool.Close()) }()
	const trail = `SELECT coalesce(group_concat(row, char(10)), '') FROM (SELECT CASE WHEN what IN ('record sealed', 'record restored') THEN seq || ' ' || by || ' ' || what || ' ' || about || ' ' || detail
		ELSE seq || ' ' || station || ' ' || at || ' ' || by || ' ' || what || ' ' || about || ' ' || detail || ' ' || hash END AS row FROM audit ORDER BY seq)`
	var entries, evidence string
	if err := pool.QueryRow(trail).Scan(&entries); err != nil {
		return "", err
	}
	if err := pool.QueryRow(`SELECT coalesce(group_concat(entry, char(10)), '') FROM (SELECT entry FROM evidence ORDER BY ord)`).Scan(&evidence); err != nil {
		return "", err
	}
	return entries + "\n" + regexp.MustCompile(`(?m)^(audit \d+ \d+ \d+) [0-9a-f]+$`).ReplaceAllString(evidence, "$1"), nil
}

// stateOf reads what a record holds.
func stateOf(path string) (state, error) { return stateUpTo(path, nil) }

// stateUpTo is stateOf with no more than the first rows of each table that only grows: as many as it had.
func stateUpTo(path string, had state) (s state, err error) {
	pool, err := raw(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, pool.Close()) }()
	tx, err := pool.BeginTx(context.Background(), &sql.TxOptions{ReadOnly: true}) // one moment for all tables
	if err != nil {
		return nil, err
	}
	defer func() { _ = tx.Rollback() }()
	// A table only grows that refuses to have its rows changed.
	const tables = `SELECT name, EXISTS (SELECT 1 FROM sqlite_schema g WHERE g.type = 'trigger' AND g.tbl_name = t.name AND g.name = t.name || '_not_changed'),
		EXISTS (SELECT 1 FROM pragma_table_list(t.name) WHERE wr) FROM sqlite_schema t WHERE type = 'table' AND sql NOT LIKE 'CREATE VIRTUAL%' ORDER BY name`
	rows, err := tx.Query(tables)
	if err != nil {
		return nil, err
	}
	type table struct {
		name              string
		grows, unnumbered bool
	}
	var all []table
	for rows.Next() {
		var t table
		if err := rows.Scan(&t.name, &t.grows, &t.unnumbered); err != nil {
			return nil, err
		}
		all = append(all, t)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return nil, err
	}
	all = append(all, table{name: "sqlite_schema"})
	s = state{}
	for _, t := range all {
		query := `SELECT * FROM "` + t.name + `"`
		if !t.unnumbered {
			query += ` ORDER BY rowid`
		}
		if had != nil {
			if !t.grows {
				continue
			}
			query += fmt.Sprint(` LIMIT `, had[t.name].rows)
		}
		if s[t.name], err = tableOf(tx, query); err != nil {
			return nil, fmt.Errorf("%s: %w", t.name, err)
		}
	}
	return s, nil
}

func tableOf(tx *sql.Tx, query string) (tableState, error) {
	var t tableState
	rows, err := tx.Query(query)
	if err != nil {
		return t, err
	}
	defer func() { _ = rows.Close() }()
	columns, err := rows.Columns()
	if err != nil {
		return t, err
	}
	values := make([]any, len(columns))
	to := make([]any, len(columns))
	for i := range values {
		to[i] = &values[i]
	}
	sum := sha256.New()
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return t, err
		}
		t.rows++
		for _, v := range values {
			text := fmt.Sprintf("%T %v", v, v)
			fmt.Fprintf(sum, "%d %s", len(text), text)
		}
	}
	t.sum = hex.EncodeToString(sum.Sum(nil)[:6])
	return t, rows.Err()
}

// only leaves the tables of a state that another names too.
func (s state) only(o state) state {
	left := state{}
	for name, t := range s {
		if _, has := o[name]; has {
			left[name] = t
		}
	}
	return left
}
