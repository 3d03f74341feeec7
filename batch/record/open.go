// Package record keeps people, specifications, batches, necks, readings and verdicts in one SQLite file.
//
// It is append-only: triggers refuse to change or remove a row, a correction is a new row. Every Append, Add, Set, Save,
// Open and Close method returns only after its one transaction is on the disk (write-ahead log, synchronous FULL); what
// it returned survives the plug being pulled, what failed left nothing behind. One connection writes, several read.
// Methods may be called from any goroutine.
package record

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/google/uuid"
	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver
)

//go:embed migrations/*.sql
var migrations embed.FS

const (
	applicationID = 1396787020 // marks the file as a record of this program
	idleReaders   = 4          // connections kept ready
)

// Options configure a record.
type Options struct {
	Station  string           // kept beside every key, so that stations' records can be merged; required to write
	Now      func() time.Time // time.Now unless given; called from any goroutine
	Existing bool             // a missing file is ErrNoRecord instead of a new record
	ReadOnly bool             // read beside the station that has the record open; implies Existing
	Filling  bool             // write a new record fast: nothing is safe before Close, and references are not checked
}

// DB is an open record.
type DB struct {
	path    string
	station string
	now     func() time.Time
	lock    *os.File
	writer  *sql.DB // one connection; nil when read only
	reader  *sql.DB
	insert  *sql.Stmt // of one reading
}

// Open opens the record at path, makes it where there is none, and brings an older one up to date. One process at a time
// may write to a record. Errors: ErrNoRecord, ErrNoFolder, ErrNotRecord, ErrNewer, ErrInUse, ErrReadOnly, ErrDiskFull,
// ErrDisk, ErrCorrupt, ErrInput (no station named).
func Open(path string, opt Options) (*DB, error) {
	db := &DB{path: path, station: opt.Station, now: opt.Now}
	if db.now == nil {
		db.now = time.Now
	}
	if err := db.open(opt); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

func (db *DB) open(opt Options) error {
	what := "opening the record " + db.path
	info, err := os.Stat(db.path)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("%s: %w: it is a folder", what, ErrNotRecord)
	case err == nil:
	case !errors.Is(err, fs.ErrNotExist):
		return translate(err, what)
	case opt.Existing || opt.ReadOnly:
		return fmt.Errorf("%s: %w; give the folder of a station that has been started once", what, ErrNoRecord)
	default:
		if _, err := os.Stat(filepath.Dir(db.path)); err != nil {
			return fmt.Errorf("%s: %w; make it first (%w)", what, ErrNoFolder, err)
		}
	}
	ctx := context.Background()
	if opt.ReadOnly {
		if db.reader, err = db.connect(false, true, false); err != nil {
			return translate(err, what)
		}
		if err := recognise(ctx, db.reader); err != nil {
			return translate(err, what)
		}
		return db.refuseNewer(ctx, db.reader, what)
	}
	if db.station == "" {
		return fmt.Errorf("%s: %w: the station needs a name", what, ErrInput)
	}
	if err := db.takeLock(what); err != nil {
		return err
	}
	if err := writable(db.path); err != nil {
		return translate(err, what)
	}
	if db.writer, err = db.connect(true, false, opt.Filling); err != nil {
		return translate(err, what)
	}
	if err := db.migrate(ctx, what); err != nil {
		return err
	}
	if db.insert, err = db.writer.PrepareContext(ctx, insertReading); err != nil {
		return translate(err, what)
	}
	if db.reader, err = db.connect(false, false, false); err != nil {
		return translate(err, what)
	}
	return translate(db.reader.PingContext(ctx), what)
}

// takeLock keeps other processes from writing: two stations on one file would each count on an order of their own.
func (db *DB) takeLock(what string) error {
	f, err := os.OpenFile(db.path+".lock", os.O_CREATE|os.O_RDWR, 0o640)
	if err != nil {
		return translate(err, what)
	}
	db.lock = f
	if err := lockFile(f); err != nil {
		return fmt.Errorf("%s: %w; end it there, or give this station a folder of its own (%w)", what, ErrInUse, err)
	}
	return nil
}

// writable finds out now what the first reading would find out otherwise.
func writable(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o640)
	if err != nil {
		return err
	}
	return f.Close()
}

// connect prepares a pool of connections: one that writes, or readers without a limit, since one that reads on while it
// streams must not wait for another that does the same. The pragmas go with the address, so that each connection has them.
func (db *DB) connect(writes, readOnly, filling bool) (*sql.DB, error) {
	q := url.Values{"_pragma": {"foreign_keys(true)", "busy_timeout(5000)", "synchronous(FULL)"}}
	switch {
	case writes && filling:
		q = url.Values{"_txlock": {"immediate"}, "_pragma": {"foreign_keys(false)", "busy_timeout(5000)", "synchronous(OFF)", "journal_mode(OFF)", "cache_size(-32768)"}}
	case readOnly:
		q.Set("mode", "ro")
	case writes:
		q.Set("_txlock", "immediate")
		q.Add("_pragma", "journal_mode(WAL)")
	default:
		q.Add("_pragma", "query_only(true)")
		q.Add("_pragma", "cache_size(-16384)")
	}
	pool, err := sql.Open("sqlite", "file:"+(&url.URL{Path: filepath.ToSlash(db.path)}).EscapedPath()+"?"+q.Encode())
	if err != nil {
		return nil, err
	}
	if writes {
		pool.SetMaxOpenConns(1)
	}
	pool.SetMaxIdleConns(idleReaders)
	return pool, nil
}

// recognise refuses a database that another program made. A record whose making was cut short is recognised by having
// nothing in it yet.
func recognise(ctx context.Context, pool *sql.DB) error {
	var id, tables int
	if err := pool.QueryRowContext(ctx, `PRAGMA application_id`).Scan(&id); err != nil {
		return err
	}
	if id == applicationID {
		return nil
	}
	const own = `SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name NOT IN ('goose_db_version', 'sqlite_sequence')`
	if err := pool.QueryRowContext(ctx, own).Scan(&tables); err != nil {
		return err
	}
	if id != 0 || tables > 0 {
		return fmt.Errorf("%w: its mark is %d, a record's is %d", ErrNotRecord, id, applicationID)
	}
	return nil
}

func provider(pool *sql.DB) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, pool, files)
}

func (db *DB) migrate(ctx context.Context, what string) error {
	if err := recognise(ctx, db.writer); err != nil {
		return translate(err, what)
	}
	steps, err := provider(db.writer)
	if err != nil {
		return translate(err, what)
	}
	if err := db.refuseNewer(ctx, db.writer, what); err != nil {
		return err
	}
	if _, err := steps.Up(ctx); err != nil {
		return translate(err, what)
	}
	if err := db.catchUpGrams(ctx); err != nil {
		return err
	}
	if err := db.catchUp(ctx); err != nil {
		return err
	}
	return db.restate(ctx)
}

// refuseNewer compares the record's schema with the newest this program knows.
func (db *DB) refuseNewer(ctx context.Context, pool *sql.DB, what string) error {
	steps, err := provider(pool)
	if err != nil {
		return translate(err, what)
	}
	known := steps.ListSources()
	newest := known[len(known)-1].Version
	var has sql.NullInt64
	err = pool.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version`).Scan(&has)
	var tables int
	if err != nil { // no table yet: nothing written, or not readable at all
		if again := pool.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&tables); again != nil {
			return translate(again, what)
		}
		if tables > 0 {
			return translate(err, what)
		}
	}
	if has.Int64 > newest {
		return fmt.Errorf("%s: %w: its schema is %d, this program knows up to %d; install the newer program", what, ErrNewer, has.Int64, newest)
	}
	return nil
}

// Close closes the record and lets others have it.
func (db *DB) Close() error {
	var errs []error
	if db.insert != nil {
		errs = append(errs, db.insert.Close())
	}
	if db.reader != nil {
		errs = append(errs, db.reader.Close())
	}
	if db.writer != nil {
		errs = append(errs, db.writer.Close())
	}
	if db.lock != nil {
		errs = append(errs, db.lock.Close())
	}
	return errors.Join(errs...)
}

// Backup writes a consistent copy of the record to path while the station works on. The file must not exist yet.
func (db *DB) Backup(ctx context.Context, path string) error {
	what := "copying the record to " + path
	if _, err := os.Stat(path); err == nil {
		return fmt.Errorf("%s: %w: choose a new file", what, ErrExists)
	}
	source, err := db.connect(false, true, false)
	if err != nil {
		return translate(err, what)
	}
	_, err = source.ExecContext(ctx, `VACUUM INTO ?`, path)
	if err := errors.Join(err, source.Close()); err != nil {
		return translate(err, what)
	}
	f, err := os.Open(path)
	if err != nil {
		return translate(err, what)
	}
	return translate(errors.Join(f.Sync(), f.Close()), what)
}

// newID is a time-ordered key (UUID version 7, RFC 9562).
func newID() (string, error) {
	id, err := uuid.NewV7()
	return id.String(), err
}

// write runs fn in one durable transaction; what says what is being written.
func (db *DB) write(ctx context.Context, what string, fn func(tx *tx) error) error {
	if db.writer == nil {
		return fmt.Errorf("%s: %w: it was opened to be read", what, ErrReadOnly)
	}
	sqlTx, err := db.writer.BeginTx(ctx, nil)
	if err != nil {
		return translate(err, what)
	}
	t := &tx{Tx: sqlTx, ctx: ctx, station: db.station, at: db.now().UTC()}
	if err := fn(t); err != nil {
		return translate(errors.Join(err, undone(sqlTx.Rollback())), what)
	}
	return translate(sqlTx.Commit(), what)
}

// undone drops the complaint that a failing statement has already rolled the transaction back.
func undone(err error) error {
	if errors.Is(err, sql.ErrTxDone) || violated(err, 1) {
		return nil
	}
	return err
}

// tx is a writing transaction with what every row carries.
type tx struct {
	*sql.Tx
	ctx     context.Context
	station string
	at      time.Time
}

func (t *tx) exec(query string, args ...any) error {
	_, err := t.ExecContext(t.ctx, query, args...)
	return err
}

func (t *tx) row(query string, args ...any) *sql.Row { return t.QueryRowContext(t.ctx, query, args...) }

// querier is what reading needs, in a transaction or outside.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

// scanner is a row or the rows' present one.
type scanner interface{ Scan(dest ...any) error }

// list reads all rows of a query.
func list[T any](ctx context.Context, q querier, scan func(scanner) (T, error), query string, args ...any) ([]T, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var all []T
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}

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

// optional is a foreign key that may be absent.
func optional(id string) any {
	if id == "" {
		return nil
	}
	return id
}
