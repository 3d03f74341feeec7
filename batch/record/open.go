// Package record keeps people, specifications, batches, necks, readings and verdicts in one SQLite file.
//
// It is append-only: triggers refuse to change or remove a row, a correction is a new row. Every Append, Add, Set, Save,
// Open and Close method returns only after its one transaction is on the disk (write-ahead log, synchronous FULL); what
// it returned survives the plug being pulled, what failed left nothing behind. One connection writes, several read.
// Methods may be called from any goroutine.
package record

import (
	"cmp"
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io"
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
	file      file    // where it writes
	aside     string  // the copy that is read in place of a file which cannot be read where it lies; "" where it can
	immutable bool    // nothing can write to the file
	writer    *sql.DB // one connection; nil when read only
	reader    *sql.DB
	insert    *sql.Stmt // of one reading
	evidence  evidence
	toSign    chan struct{}
	impacts   impacts
	doubtfuls doubtfuls
}

// Open opens the record at path, makes it where there is none, and brings an older one up to date. One process at a time
// may write to a record. Errors: ErrNoRecord, ErrNoFolder, ErrNotRecord, ErrNewer, ErrOlder, ErrInUse, ErrReadOnly, ErrDiskFull,
// ErrNotWritten, ErrDisk, ErrCorrupt, ErrInput (no station named).
func Open(path string, opt Options) (*DB, error) {
	db := &DB{path: path, station: opt.Station, now: opt.Now, toSign: make(chan struct{}, 1)}
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
	there, err := fileAt(db.path, what)
	switch {
	case err != nil:
		return err
	case there:
	case opt.Existing || opt.ReadOnly:
		return fmt.Errorf("%s: %w; give the folder of a station that has been started once%s", what, ErrNoRecord, leftOf(db.path))
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
	if there, err = fileAt(db.path, what); err != nil {
		return err
	}
	if !there {
		if err := db.makeNew(ctx, what); err != nil {
			return err
		}
	}
	if err := db.hold(what); err != nil {
		return err
	}
	return db.openToWrite(ctx, what, opt.Filling)
}

// fileAt says whether there is a file. ErrNotRecord where there is a folder.
func fileAt(path, what string) (bool, error) {
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		return false, fmt.Errorf("%s: %w: it is a folder", what, ErrNotRecord)
	case errors.Is(err, fs.ErrNotExist):
		return false, nil
	}
	return err == nil, translate(err, what)
}

// leftOf says what a record that is gone has left.
func leftOf(path string) string {
	if left := earlier(path); left != "" {
		return fmt.Sprintf(". There was one: %s is left of it", left)
	}
	return ""
}

// openToWrite opens the connections of the record that is held.
func (db *DB) openToWrite(ctx context.Context, what string, filling bool) (err error) {
	if db.writer, err = db.connect(true, false, filling); err != nil {
		return translate(err, what)
	}
	if err := db.migrate(ctx, what); err != nil {
		return err
	}
	if err := db.note(); err != nil {
		return translate(err, what)
	}
	if !filling {
		if err := db.begin(ctx); err != nil {
			return translate(err, what)
		}
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
	if info, err := os.Stat(db.path); err == nil && info.Size() == 0 {
		return fmt.Errorf("%s: %w: it is empty", what, ErrNotRecord)
	}
	if db.reader, err = db.connect(false, true, false); err != nil {
		return translate(err, what)
	}
	err = recognise(ctx, db.reader)
	if cannotOpen(err) { // as where nothing may be written beside it
		err = db.readAside(ctx)
	}
	if err != nil {
		return translate(err, what)
	}
	if err := db.withItsLog(ctx, what); err != nil {
		return err
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

// withItsLog is ErrLogLost where a record is read whose log is missing. A station may open or close it meanwhile.
func (db *DB) withItsLog(ctx context.Context, what string) error {
	for range 2 {
		info, err := os.Stat(cmp.Or(db.aside, db.path) + "-wal")
		if err == nil && info.Size() > 0 {
			return nil
		}
		mark, err := fileMark(ctx, db.reader)
		if err != nil || mark%2 == 0 {
			return translate(err, what)
		}
	}
	return whatIsMissing(ErrLogLost, db.path, what)
}

// readAside reads a record whose folder nobody may write to: as it lies where its log is empty, else a copy of both.
func (db *DB) readAside(ctx context.Context) (err error) {
	defer func() {
		if db.aside != "" {
			err = batch.InTheMaking(err, db.path, db.aside, filepath.Dir(db.aside))
		}
	}()
	if err := db.reader.Close(); err != nil {
		return err
	}
	if info, err := os.Stat(db.path + "-wal"); err != nil || info.Size() == 0 {
		db.immutable = true
	} else {
		folder, err := os.MkdirTemp("", "sagitta-reading-*")
		if err != nil {
			return batch.InTheMaking(err, "a folder for a copy to read")
		}
		db.aside = filepath.Join(folder, filepath.Base(db.path))
		for _, part := range []string{"", "-wal"} {
			if err := copyFile(db.path+part, db.aside+part); err != nil {
				return err
			}
		}
	}
	if db.reader, err = db.connect(false, true, false); err != nil {
		return err
	}
	return recognise(ctx, db.reader)
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// takeLock keeps other processes from writing: two stations on one file would each count on an order of their own. It is taken before
// the file is touched, and hold takes the file itself.
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

func (db *DB) migrate(ctx context.Context, what string) error {
	steps, err := provider(db.writer)
	if err != nil {
		return translate(err, what)
	}
	has, known, err := db.schema(ctx, db.writer, what)
	if err != nil {
		return err
	}
	if has > 0 && has < known {
		if err := db.copyBefore(ctx, has, what); err != nil {
			return err
		}
	}
	err = db.unchecked(ctx, func() error {
		_, err := steps.Up(ctx) // each step with its number in one transaction
		return err
	})
	if err != nil {
		return translate(err, what)
	}
	if err := db.evidence.prepare(ctx, db.writer); err != nil {
		return translate(err, what)
	}
	if err := db.sealed(ctx); err != nil {
		return err
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
			return 0, 0, fmt.Errorf("%s: %w: which schema it has cannot be told (%v); this program knows 1 to %d", what, ErrCorrupt, err, known)
		}
	}
	if newest.Int64 < 0 {
		return 0, 0, fmt.Errorf("%s: %w: its schema is %d; this program knows 1 to %d", what, ErrCorrupt, newest.Int64, known)
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
	errs = append(errs, db.evidence.close())
	if db.reader != nil {
		errs = append(errs, db.reader.Close())
	}
	errs = append(errs, db.finish())
	if db.aside != "" {
		errs = append(errs, os.RemoveAll(filepath.Dir(db.aside)))
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
	if err := db.Lost(); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if _, err := os.Stat(path); err == nil {
		return batch.Conflict.Errorf("%s: there is a file of this name already, and a copy never overwrites: choose a new name", what)
	}
	source, err := db.connect(false, true, false)
	if err == nil {
		err = errors.Join(copyWhole(ctx, source, path), source.Close())
	}
	if errors.Is(err, fs.ErrNotExist) {
		return batch.Absent.Errorf("%s: the folder %s does not exist; make it or name another", what, filepath.Dir(path))
	}
	return translate(err, what)
}

// Follow writes a consistent copy of the record over the one at path, which stays until the new one is on the disk and verified.
func (db *DB) Follow(ctx context.Context, path string) error {
	what := "copying the record to " + path
	if err := db.Lost(); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	source, err := db.connect(false, true, false)
	if err != nil {
		return translate(err, what)
	}
	err = copyChecked(ctx, source, path, func(made string) error {
		copied, err := Open(made, Options{ReadOnly: true, AsItIs: true})
		if err != nil {
			return err
		}
		return errors.Join(copied.VerifyAudit(ctx), copied.Close())
	})
	return translate(errors.Join(err, source.Close()), what)
}
