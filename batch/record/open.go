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
	"os"
	"path/filepath"
	"time"

	"sagitta/batch"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Options configure a record.
type Options struct {
	Station  string           // kept beside every key, so that stations' records can be merged; required to write
	Now      func() time.Time // time.Now unless given; called from any goroutine
	Existing bool             // a missing file is ErrNoRecord instead of a new record
	ReadOnly bool             // read beside the station that has the record open; implies Existing. An older record is brought up to date before
	AsItIs   bool             // with ReadOnly: an older record is left as it is, which is enough to verify and to copy it
	Filling  bool             // write a new record fast: nothing is safe before Close, and references are not checked
}

// DB is an open record.
type DB struct {
	path      string
	station   string
	now       func() time.Time
	lock      *os.File
	writer    *sql.DB // one connection; nil when read only
	reader    *sql.DB
	insert    *sql.Stmt // of one reading
	impacts   impacts
	doubtfuls doubtfuls
}

// Open opens the record at path, makes it where there is none, and brings an older one up to date. One process at a time
// may write to a record. Errors: ErrNoRecord, ErrNoFolder, ErrNotRecord, ErrNewer, ErrOlder, ErrInUse, ErrReadOnly, ErrDiskFull,
// ErrNotWritten, ErrDisk, ErrCorrupt, ErrInput (no station named).
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
			return fmt.Errorf("%s: %w; make it first (%v)", what, ErrNoFolder, err)
		}
	}
	ctx := context.Background()
	if opt.ReadOnly {
		return db.openToRead(ctx, what, opt.AsItIs)
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

// openToRead opens the record without writing to it, but that an older one is brought up to date where nothing else has it.
func (db *DB) openToRead(ctx context.Context, what string, asItIs bool) (err error) {
	if db.reader, err = db.connect(false, true, false); err != nil {
		return translate(err, what)
	}
	if err := recognise(ctx, db.reader); err != nil {
		return translate(err, what)
	}
	has, known, err := db.schema(ctx, db.reader, what)
	if err != nil || has == known || asItIs {
		return err
	}
	newer, err := Open(db.path, Options{Station: "reader", Existing: true})
	switch {
	case err == nil:
		return newer.Close()
	case errors.Is(err, ErrInUse), errors.Is(err, ErrReadOnly): // its station can do what a reader cannot
		return fmt.Errorf("%s: %w: its schema is %d, this program's is %d; start its station once with this program (%v)", what, ErrOlder, has, known, err)
	}
	return fmt.Errorf("bringing the record of an older version up from schema %d to %d: %w", has, known, err)
}

// takeLock keeps other processes from writing: two stations on one file would each count on an order of their own.
func (db *DB) takeLock(what string) error {
	f, err := os.OpenFile(db.path+".lock", os.O_CREATE|os.O_RDWR, 0o640)
	if err != nil {
		return translate(err, what)
	}
	db.lock = f
	err = lockFile(f)
	if errors.Is(err, ErrInUse) {
		return fmt.Errorf("%s: %w; end it there, or give this station a folder of its own", what, err)
	}
	return translate(err, what)
}

// writable finds out now what the first reading would find out otherwise.
func writable(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o640)
	if err != nil {
		return err
	}
	return f.Close()
}

func (db *DB) migrate(ctx context.Context, what string) error {
	if err := recognise(ctx, db.writer); err != nil {
		return translate(err, what)
	}
	steps, err := provider(db.writer)
	if err != nil {
		return translate(err, what)
	}
	if _, _, err := db.schema(ctx, db.writer, what); err != nil {
		return err
	}
	err = db.unchecked(ctx, func() error {
		_, err := steps.Up(ctx) // each step with its number in one transaction
		return err
	})
	if err != nil {
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

// schema is the number of the record's schema, 0 before the first, and of the newest that this program knows. ErrNewer where the
// record's is higher.
func (db *DB) schema(ctx context.Context, pool *sql.DB, what string) (has, known int64, err error) {
	steps, err := provider(pool)
	if err != nil {
		return 0, 0, translate(err, what)
	}
	all := steps.ListSources()
	known = all[len(all)-1].Version
	var newest sql.NullInt64
	err = pool.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version`).Scan(&newest)
	if err != nil { // no table yet: nothing written, or not readable at all
		tables, again := tablesOf(ctx, pool)
		if again != nil {
			return 0, 0, translate(again, what)
		}
		if tables > 0 {
			return 0, 0, translate(err, what)
		}
	}
	if newest.Int64 > known {
		return 0, 0, fmt.Errorf("%s: %w: its schema is %d, this program knows up to %d; install the newer program", what, ErrNewer, newest.Int64, known)
	}
	return newest.Int64, known, nil
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

// Backup writes a consistent copy of the record to path while the station works on. The file must not exist yet; it is there
// whole or not at all.
func (db *DB) Backup(ctx context.Context, path string) error {
	what := "copying the record to " + path
	if _, err := os.Stat(path); err == nil {
		return batch.Conflict.Errorf("%s: there is a file of this name already, and a copy never overwrites: choose a new name", what)
	}
	part, err := os.MkdirTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.part") // SQLite makes the copy's file itself
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return batch.Absent.Errorf("%s: the folder %s does not exist; make it or name another", what, filepath.Dir(path))
	case err != nil:
		return translate(err, what)
	}
	err = db.copyWhole(ctx, filepath.Join(part, filepath.Base(path)), path)
	return translate(errors.Join(err, os.RemoveAll(part)), what)
}

// copyWhole copies the record to part, makes the copy last and gives it its name.
func (db *DB) copyWhole(ctx context.Context, part, path string) error {
	if err := db.copyTo(ctx, part); err != nil {
		return err
	}
	f, err := os.Open(part)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(part, path)
}
