package record

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"path/filepath"
	"strings"
	"time"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite" // the driver
	sqlite3 "modernc.org/sqlite/lib"
)

// What is SQLite's own stands in this file and in the migrations: connections and pragmas, times, result codes, the check and
// the copy of a file, the search. Elsewhere is plain SQL but for two things that another engine reads as plain JOIN and column:
// CROSS JOIN ... ON, which says in which order tables are joined, and a + before a column, which keeps an index out of use.

const (
	applicationID = 1396787020 // marks the file as a record of this program
	idleReaders   = 4          // connections kept ready
)

// connector opens connections that each have the pragmas. None takes the log away as it is closed, also where the file cannot be
// read: only a station that marked the record as closed does.
type connector struct {
	driver.Connector
	pragmas []string
	writes  *evidence // told of every row that a connection writes; nil where none does
}

func (c connector) Connect(ctx context.Context) (driver.Conn, error) {
	conn, err := c.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	err = leaveLog(conn, 1)
	for _, pragma := range c.pragmas {
		if err == nil {
			_, err = conn.(driver.ExecerContext).ExecContext(ctx, "PRAGMA "+pragma, nil)
		}
	}
	if err != nil {
		return nil, errors.Join(err, conn.Close())
	}
	if c.writes != nil {
		conn.(sqlite.HookRegisterer).RegisterPreUpdateHook(c.writes.saw)
	}
	return conn, nil
}

// leaveLog has SQLite leave the log when the connection is closed (1), or take it away (0).
func leaveLog(conn any, leave int) error {
	_, err := conn.(sqlite.FileControl).FileControlPersistWAL("main", leave)
	return err
}

// connect prepares a pool of connections: one that writes, or readers without a limit, since one that reads on while it
// streams must not wait for another that does the same.
func (db *DB) connect(writes, readOnly, filling bool) (*sql.DB, error) {
	q, pragmas := url.Values{}, []string{"busy_timeout(5000)", "foreign_keys(true)", "synchronous(FULL)"}
	switch {
	case writes && filling:
		q.Set("_txlock", "immediate")
		pragmas = []string{"busy_timeout(5000)", "foreign_keys(false)", "synchronous(OFF)", "journal_mode(OFF)", "cache_size(-32768)"}
	case readOnly:
		q.Set("mode", "ro")
		if db.immutable {
			q.Set("immutable", "1")
		}
	case writes:
		q.Set("_txlock", "immediate")
		pragmas = append(pragmas, "journal_mode(WAL)", "wal_autocheckpoint(0)") // the log is written into the file by settle alone
	default:
		pragmas = append(pragmas, "query_only(true)", "cache_size(-16384)")
	}
	to, err := sqlite.NewConnector("file:" + (&url.URL{Path: filepath.ToSlash(cmp.Or(db.aside, db.path))}).EscapedPath() + "?" + q.Encode())
	if err != nil {
		return nil, err
	}
	c := connector{Connector: to, pragmas: pragmas}
	if writes {
		c.writes = &db.evidence
	}
	pool := sql.OpenDB(c)
	if writes {
		pool.SetMaxOpenConns(1)
	}
	pool.SetMaxIdleConns(idleReaders)
	return pool, nil
}

// unchecked runs fn, outside of transactions, while the writer does not check references: SQLite makes a table that others refer
// to anew only so, since to drop it is to remove its rows.
func (db *DB) unchecked(ctx context.Context, fn func() error) error {
	var checked bool
	if err := db.writer.QueryRowContext(ctx, `PRAGMA foreign_keys`).Scan(&checked); err != nil || !checked {
		return errors.Join(err, fn())
	}
	if _, err := db.writer.ExecContext(ctx, `PRAGMA foreign_keys = OFF`); err != nil {
		return err
	}
	if err := fn(); err != nil {
		return err // the record is not opened
	}
	_, err := db.writer.ExecContext(ctx, `PRAGMA foreign_keys = ON`)
	return err
}

// recognise refuses a database that another program made. A record whose making was cut short is recognised by having
// nothing in it yet.
func recognise(ctx context.Context, pool *sql.DB) error {
	var id int
	if err := pool.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&id); err != nil {
		return err
	}
	if id == applicationID {
		return nil
	}
	tables, err := tablesOf(ctx, pool)
	if err != nil {
		return err
	}
	if id != 0 || tables > 0 {
		return foreign(id)
	}
	return fmt.Errorf("%w: it is a database with nothing in it", ErrNotRecord)
}

// undoable has a connection that fills a record keep what a failing transaction changed, so that what failed is told.
func undoable(ctx context.Context, on executor) error {
	_, err := on.ExecContext(ctx, `PRAGMA journal_mode = MEMORY`)
	return err
}

// fileMark is the record's mark as SQLite reads it, through the log.
func fileMark(ctx context.Context, q querier) (mark int64, err error) {
	return mark, q.QueryRowContext(ctx, `PRAGMA user_version`).Scan(&mark)
}

// setMark writes the mark in a transaction of its own.
func setMark(ctx context.Context, on executor, mark int64) error {
	_, err := on.ExecContext(ctx, fmt.Sprint(`PRAGMA user_version = `, mark))
	return err
}

// executor is a connection or a pool of one.
type executor interface {
	querier
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
}

// intoFile writes the log into the file, as far as nobody reads what came before; all of it, and the log is empty then, where whole
// is asked for. It says whether all was written.
func intoFile(ctx context.Context, on executor, whole bool) (all bool, err error) {
	how := "PASSIVE"
	if whole {
		how = "TRUNCATE"
	}
	var busy, frames, written int
	err = on.QueryRowContext(ctx, `PRAGMA wal_checkpoint(`+how+`)`).Scan(&busy, &frames, &written)
	return busy == 0 && written == frames, err
}

// tablesOf counts the tables that a database has beside those of the migrations.
func tablesOf(ctx context.Context, pool *sql.DB) (n int, err error) {
	const own = `SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name NOT IN ('goose_db_version', 'sqlite_sequence')`
	return n, pool.QueryRowContext(ctx, own).Scan(&n)
}

// hasTable says whether a database has a table.
func hasTable(ctx context.Context, q querier, name string) (has bool, err error) {
	return has, q.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = ?)`, name).Scan(&has)
}

// toldSteps has the steps told of, in tests.
var toldSteps []goose.ProviderOption

// provider has the steps that bring a record up to date.
func provider(pool *sql.DB) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, pool, files, toldSteps...)
}

// meant is the record's error that a result code of SQLite stands for; nil where none does.
func meant(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return nil
	}
	if e.Code() == sqlite3.SQLITE_CONSTRAINT_CHECK { // a migration found what cannot be
		return ErrCorrupt
	}
	switch e.Code() {
	case sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_FSYNC, sqlite3.SQLITE_IOERR_TRUNCATE, sqlite3.SQLITE_IOERR_SHMSIZE:
		return ErrNotWritten
	}
	switch e.Code() & 0xff { // the primary code
	case sqlite3.SQLITE_FULL:
		return ErrDiskFull
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return ErrInUse
	case sqlite3.SQLITE_CORRUPT:
		return ErrCorrupt
	case sqlite3.SQLITE_NOTADB:
		return ErrNotRecord
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
		return ErrReadOnly
	case sqlite3.SQLITE_IOERR:
		return ErrDisk
	}
	return nil
}

// cannotOpen says that SQLite could not make, beside a file, what it needs to read it.
func cannotOpen(err error) bool {
	return coded(err, sqlite3.SQLITE_CANTOPEN) || coded(err, sqlite3.SQLITE_READONLY_DIRECTORY) || coded(err, sqlite3.SQLITE_READONLY_CANTINIT) || coded(err, sqlite3.SQLITE_READONLY_RECOVERY)
}

// repeated says whether err is of a value that must be unique and is there already, orphaned whether it is of a reference to
// nothing, rolledBack whether a failing statement has ended its transaction.
func repeated(err error) bool { return coded(err, sqlite3.SQLITE_CONSTRAINT_UNIQUE) }
func orphaned(err error) bool { return coded(err, sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY) }
func rolledBack(err error) bool {
	return errors.Is(err, sql.ErrTxDone) || coded(err, sqlite3.SQLITE_ERROR)
}

// unfitRow says that a row breaks a rule of its table.
func unfitRow(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == sqlite3.SQLITE_CONSTRAINT
}

func coded(err error, code int) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code() == code
}

// copyTo writes a consistent copy of the file that from reads. The copy has a mark of its own, that of a closed record.
func copyTo(ctx context.Context, from executor, path string) error {
	if _, err := from.ExecContext(ctx, `VACUUM INTO ?`, path); err != nil {
		return err
	}
	mark, err := randomMark()
	if err != nil {
		return err
	}
	pool, err := (&DB{path: path}).connect(true, false, true)
	if err != nil {
		return err
	}
	return errors.Join(setMark(ctx, pool, mark), pool.Close())
}

// whole has the file checked. ErrCorrupt where it is damaged. SQLite cannot be made to rest within a check: gently, it checks one table after the other
// with its indexes, the list of free pages with the first. What that leaves out is whether pages belong to no table: such a page holds nothing of the record.
func (db *DB) whole(ctx context.Context) error {
	pace := paceOf(ctx)
	if pace == nil {
		return sound(db.reader.QueryRowContext(ctx, `PRAGMA integrity_check(1)`))
	}
	tables, err := list(ctx, db.reader, func(r scanner) (name string, err error) { return name, r.Scan(&name) }, `SELECT 'sqlite_schema' UNION ALL SELECT name FROM sqlite_schema WHERE type = 'table'`)
	for _, name := range tables {
		if err := sound(db.reader.QueryRowContext(ctx, `SELECT integrity_check FROM pragma_integrity_check(?) LIMIT 1`, name)); err != nil {
			return err
		}
		pace.pause()
	}
	return err
}

// sound says what a check of the file came to. ErrCorrupt where it found anything.
func sound(row *sql.Row) error {
	var state string
	if err := row.Scan(&state); err != nil {
		return err
	}
	if state != "ok" {
		return fmt.Errorf("%w: %s", ErrCorrupt, state)
	}
	return nil
}

// parentsLater has references checked at the commit: rows are written many at a time, parents at times after children.
func (t *tx) parentsLater() error { return t.exec(`PRAGMA defer_foreign_keys = on`) }

// Serial numbers are searched by parts of three characters and more; see grams for shorter ones.
const (
	searchedParts = `SELECT rowid AS ord FROM serial_parts WHERE serial_parts MATCH ?3 ORDER BY rowid DESC LIMIT ?2`
	searchOne     = `INSERT INTO serial_parts (rowid, serial) VALUES (?, ?)`
	searchMany    = `INSERT INTO serial_parts (rowid, serial) SELECT ord, serial FROM necks WHERE ord BETWEEN ? AND ?`
	searchAnew    = `INSERT INTO serial_parts (serial_parts) VALUES ('rebuild')`
)

// places are the marks of a row of so many columns. Marks are ? and, where one stands for the same value again, ?1 and on.
func places(columns int) string { return "(?" + strings.Repeat(", ?", columns-1) + ")" }

// nanos is a time as the record keeps it; the zero time is 0.
func nanos(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixNano()
}

// instant reads what nanos wrote.
func instant(ns int64) time.Time {
	if ns == 0 {
		return time.Time{}
	}
	return time.Unix(0, ns).UTC()
}

// listedValues are the values of a list that is bound as JSON text, as a query over its place.
const listedValues = `SELECT value FROM json_each(%s)`
