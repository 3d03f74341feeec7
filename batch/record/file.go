package record

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

// file is the record's file as the station that writes to it holds it. Nothing but settle writes to the file itself: everything
// else stands in the log. So a file that is another, or has changed, since settle has been taken from under the station.
type file struct {
	open     *os.File // never closed before the connections: closing any opening of a file gives up SQLite's locks on it (POSIX)
	mark     int64
	unmarked bool        // the log may begin anew without the mark; only who has the writing connection asks
	seen     os.FileInfo // as settle left it; nil while the record is being opened, and where it is filled
	head     []byte
	pending  atomic.Int64          // commits since
	newest   atomic.Int64          // time of the newest, nanoseconds
	commits  atomic.Int64          // since it was opened
	verdict  atomic.Int64          // of those
	loss     atomic.Pointer[error] // why nothing is written any more
	wake     chan struct{}
	end      context.CancelFunc
	ended    sync.WaitGroup
}

// When the log is written into the file: after verdicts, after so many commits, and when nothing came for a while. The file is
// looked at each moment, and before each commit.
const (
	settleAfter = 500
	restAfter   = 5 * time.Second
	lookEvery   = time.Second
)

// hold opens the record's file for this process alone. It fails where another process has it, under whatever name.
func (db *DB) hold(what string) error {
	f, err := os.OpenFile(db.path, os.O_RDWR, 0)
	if err != nil {
		return translate(err, what)
	}
	db.file.open = f
	if err := lockFile(f); errors.Is(err, ErrInUse) {
		return fmt.Errorf("%s: %w, by another name or without its lock; end that one first", what, err)
	} else if err != nil {
		return translate(err, what)
	}
	left, err := head(f)
	if err != nil {
		return fmt.Errorf("%s: %w. It is left as it is: move it away, and bring the record back, or its newest copy with sagitta restore", what, err)
	}
	log, err := readLog(db.path)
	if err := log.whole(markIn(left), err); err != nil {
		return whatIsMissing(err, db.path, what)
	}
	return nil
}

// whatIsMissing says what to do about a record whose log is not as the file says it must be.
func whatIsMissing(err error, path, what string) error {
	log := filepath.Base(path) + "-wal"
	switch {
	case errors.Is(err, ErrLogLost):
		return fmt.Errorf("%s: %w: what was recorded since it was last written into the file is missing; the newest entry of the trail that is here is %s. Bring %s from where this file came from, as it was left with it; where it is lost, sagitta salvage makes a record of what is here", what, err, newestIn(path), log)
	case errors.Is(err, ErrOtherLog):
		return fmt.Errorf("%s: %w: together they would be neither. Move %s away if the file beside it is the one that is wanted, else bring back the file that it belongs to", what, err, log)
	case errors.Is(err, ErrCorrupt):
		return fmt.Errorf("%s: %w. Nothing is changed: bring back the newest copy with sagitta restore, or see with sagitta salvage what can be read", what, err)
	}
	return translate(err, what)
}

// newestIn names the newest entry of the trail in a record's file, without its log.
func newestIn(path string) string {
	const unknown = "not to be read"
	pool, err := (&DB{path: path, immutable: true}).connect(false, true, false)
	if err != nil {
		return unknown
	}
	defer func() { _ = pool.Close() }()
	e, err := scanAudit(pool.QueryRowContext(context.Background(), selectAudit+`ORDER BY seq DESC LIMIT 1`))
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return "none"
	case err != nil:
		return unknown
	}
	return fmt.Sprintf("%d (%s, %s, %s)", e.Seq, e.At.Local().Format("2006-01-02 15:04:05"), e.What, e.About)
}

// begin marks the file as being written to, and has it looked after until close.
func (db *DB) begin(ctx context.Context) error {
	f := &db.file
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	if f.mark, err = fileMark(ctx, conn); err == nil && (f.mark == 0 || f.mark > markHighest) {
		f.mark, err = randomMark()
	}
	if err != nil {
		return err
	}
	f.mark |= 1
	if err := db.settleOn(ctx, conn, 0); err != nil {
		return err
	}
	f.wake = make(chan struct{}, 1)
	looking, end := context.WithCancel(context.Background())
	f.end = end
	f.ended.Go(func() { db.look(looking) })
	return nil
}

// settleOn writes the log into the file, with the mark that is by so much higher.
func (db *DB) settleOn(ctx context.Context, conn *sql.Conn, by int64) error {
	f := &db.file
	if err := setMark(ctx, conn, f.mark+by); err != nil {
		return err
	}
	f.mark += by
	f.unmarked = true
	all, err := intoFile(ctx, conn, false)
	if err := errors.Join(err, db.remember()); err != nil {
		return err
	}
	if err := db.markLog(ctx, conn); err != nil {
		return err
	}
	if f.pending.Store(0); !all { // somebody reads what was before: later
		f.pending.Store(1)
		f.newest.Store(nanos(time.Now()))
	}
	return nil
}

// markLog has the log, begun anew, begin with the mark. Where that fails, the next commit does it first: a log without one is taken for
// another record's.
func (db *DB) markLog(ctx context.Context, conn *sql.Conn) error {
	if !db.file.unmarked {
		return nil
	}
	err := setMark(ctx, conn, db.file.mark)
	db.file.unmarked = err != nil
	return err
}

// remember keeps how the file is now.
func (db *DB) remember() (err error) {
	f := &db.file
	if f.seen, err = f.open.Stat(); err != nil {
		return err
	}
	f.head, err = head(f.open)
	return err
}

// Settle writes what was recorded into the record's file, so that little stands in its log alone. It is done by itself after verdicts
// and at rest.
func (db *DB) Settle(ctx context.Context) error {
	const what = "writing the log into the record's file"
	if db.file.wake == nil {
		return nil
	}
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return translate(err, what)
	}
	defer func() { _ = conn.Close() }()
	if err := db.present(); err != nil {
		return err
	}
	return translate(db.settleOn(ctx, conn, 2), what)
}

// look looks after the file until ctx ends.
func (db *DB) look(ctx context.Context) {
	f := &db.file
	every := time.NewTicker(lookEvery)
	defer every.Stop()
	for f.loss.Load() == nil {
		now := false
		select {
		case <-ctx.Done():
			return
		case <-f.wake:
			now = true
		case <-every.C:
		}
		rested := time.Since(instant(f.newest.Load())) >= restAfter
		if n := f.pending.Load(); n > 0 && (now || rested || n >= settleAfter) {
			if err := db.Settle(ctx); err != nil && ctx.Err() == nil && f.loss.Load() == nil {
				slog.Warn("not written into the record's file", "error", err) // it stands in the log
				f.newest.Store(nanos(time.Now()))
			}
			continue
		}
		_ = db.still(ctx) // it is told where it is asked for
	}
}

// committed counts a commit that has it written into the file before long.
func (f *file) committed() {
	f.newest.Store(nanos(time.Now()))
	f.commits.Add(1)
	if f.pending.Add(1) >= settleAfter {
		f.soon()
	}
}

// judged counts a verdict, and has what was committed written into the file now.
func (f *file) judged() {
	f.verdict.Add(1)
	f.soon()
}

func (f *file) soon() {
	select {
	case f.wake <- struct{}{}:
	default:
	}
}

// Written counts what was committed since the record was opened, and how many of it were verdicts.
func (db *DB) Written() (commits, verdicts int64) {
	return db.file.commits.Load(), db.file.verdict.Load()
}

// Lost says why nothing can be recorded any more: the record's file was deleted, replaced or written over. nil while all is well.
func (db *DB) Lost() error {
	if why := db.file.loss.Load(); why != nil {
		return *why
	}
	return nil
}

// still is present for what is not written in a transaction of its own.
func (db *DB) still(ctx context.Context) error {
	if err := db.Lost(); err != nil {
		return err
	}
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return err
	}
	return errors.Join(db.present(), conn.Close())
}

// present compares the file with what settle left, and its path. ErrTaken from the first time on that they differ.
func (db *DB) present() error {
	f := &db.file
	if err := db.Lost(); err != nil || f.seen == nil {
		return err
	}
	now, err := os.Stat(db.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return db.taken("was deleted or moved away", true)
	case err != nil:
		return translate(err, "looking at the record's file "+db.path)
	case !os.SameFile(now, f.seen):
		return db.taken("was replaced by another", true)
	case now.Size() != f.seen.Size():
		return db.taken("was written over by another program", false)
	case runtime.GOOS == "windows" || now.ModTime().Equal(f.seen.ModTime()): // Windows sets the time of an open file when it likes
		return nil
	}
	if begins, err := head(f.open); err != nil || !bytes.Equal(begins, f.head) {
		return db.taken("was written over by another program", false)
	}
	f.seen = now // touched, or written over with what it held
	return nil
}

// taken ends all writing. Where the station still has the file it holds, what was recorded is written out beside it, in another
// file: the connection reads on what has no name any more.
func (db *DB) taken(how string, rescue bool) error {
	f := &db.file
	at := db.now()
	say := func(then string) error {
		err := fmt.Errorf("%w: at %s %s %s. Nothing is recorded until this is put right. %s", ErrTaken, at.Local().Format("15:04:05"), db.path, how, then)
		f.loss.Store(&err)
		slog.Error("record lost", "error", err)
		return err
	}
	if !rescue {
		return say("End the station, leave the file and its log as they are, and bring back the newest copy with sagitta restore --replace")
	}
	path := filepath.Join(filepath.Dir(db.path), strings.Replace(rescuedName, "%s", at.UTC().Format(stampLayout), 1))
	wait := say("What was recorded before is being written to " + path + ": let the station run until this says that it is there")
	f.ended.Go(func() {
		ctx := context.Background()
		conn, err := db.writer.Conn(ctx)
		if err == nil {
			err = errors.Join(copyWhole(ctx, conn, path), conn.Close())
		}
		if err != nil {
			_ = say(fmt.Sprintf("What was recorded before could not be written to %s (%v). Leave the station running, and ask for help: it still holds the record", path, err))
			return
		}
		_ = say(fmt.Sprintf("All that was acknowledged before is in %s: end the station, and bring it back with sagitta restore %s --data %s --replace", path, path, filepath.Dir(db.path)))
	})
	return wait
}

// finish writes the log into the file and marks it as closed, and gives the file up once every connection is closed.
func (db *DB) finish() error {
	f := &db.file
	var errs []error
	if f.end != nil {
		f.end()
		f.ended.Wait()
		errs = append(errs, db.markClosed(context.Background()))
		f.end = nil
	}
	if db.writer != nil {
		errs = append(errs, db.writer.Close())
	}
	if f.open != nil {
		errs = append(errs, f.open.Close())
	}
	return errors.Join(errs...)
}

// markClosed takes the log away once the mark is written: it is needed until then.
func (db *DB) markClosed(ctx context.Context) error {
	conn, err := db.writer.Conn(ctx)
	if err != nil {
		return err
	}
	if db.present() != nil { // it was told when it was found
		err := conn.Close()
		db.file.ended.Wait() // for what is being rescued
		return err
	}
	if err = setMark(ctx, conn, db.file.mark+1); err == nil {
		_, err = intoFile(ctx, conn, true)
	}
	if err == nil {
		err = conn.Raw(func(driver any) error { return leaveLog(driver, 0) })
	}
	return errors.Join(translate(err, "closing the record"), conn.Close())
}
