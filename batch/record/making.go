package record

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// inMaking is the ending of a record in the making.
const inMaking = ".new"

// makeNew makes an empty record: under another name, so that a file of the record's name is a whole record from its first moment.
func (db *DB) makeNew(ctx context.Context, what string) error {
	if left := earlier(db.path); left != "" {
		return fmt.Errorf("%s: %w: %s is left of it; no new one is made in its place. Bring it back, or its newest copy with sagitta restore; to begin anew, take a folder that is empty", what, ErrGone, left)
	}
	part := db.path + inMaking
	for _, name := range []string{part, part + "-journal"} { // of a station that was killed as it made its record
		if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return translate(err, what)
		}
	}
	f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o640)
	if err != nil {
		return translate(err, what)
	}
	if err := f.Close(); err != nil {
		return translate(err, what)
	}
	if err = db.fill(ctx, part, what); err == nil {
		err = translate(Lasting(part, db.path), what)
	}
	if err != nil {
		err = errors.Join(err, os.RemoveAll(part), os.RemoveAll(part+"-journal"))
	}
	return err
}

// fill brings an empty file up to the newest schema.
func (db *DB) fill(ctx context.Context, part, what string) (err error) {
	made := &DB{path: part, station: db.station, now: db.now}
	if made.writer, err = made.connect(true, false, true); err != nil {
		return translate(err, what)
	}
	defer func() { err = errors.Join(err, translate(made.writer.Close(), what)) }()
	if err := undoable(ctx, made.writer); err != nil {
		return translate(err, what)
	}
	if err := made.migrate(ctx, what); err != nil {
		return err
	}
	mark, err := randomMark()
	if err != nil {
		return err
	}
	return translate(setMark(ctx, made.writer, mark), what)
}

// Lasting puts a finished file on the disk and then under its name.
func Lasting(part, path string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(part, path); err != nil {
		return err
	}
	return SyncFolder(filepath.Dir(path))
}

// note has the lock's file tell that there is a record beside it.
func (db *DB) note() error {
	if info, err := db.lock.Stat(); err != nil || info.Size() > 0 {
		return err
	}
	_, err := db.lock.WriteAt(fmt.Appendf(nil, "%s beside this file is the record of a station; this file keeps others from writing to it.\n", filepath.Base(db.path)), 0)
	return err
}

// earlier names what a record that is not there any more has left in its folder, "" where it left nothing.
func earlier(path string) string {
	for _, beside := range []string{"-wal", "-journal", ".lock"} {
		if info, err := os.Stat(path + beside); err == nil && info.Size() > 0 {
			return filepath.Base(path) + beside
		}
	}
	for _, pattern := range []string{rescuedName, beforeName, replacedName} {
		if found, err := beside(path, pattern); err == nil && len(found) > 0 {
			return found[0]
		}
	}
	return ""
}

// Names of what is kept beside a record; %s is a schema or a time.
const (
	rescuedName  = "record-rescued-%s.db"
	beforeName   = "record-before-schema-%s.db"
	replacedName = "replaced-%s"
	stampLayout  = "20060102-150405"
)

// beside are the files of a pattern of names in a record's folder, whatever signs the folder's own name has.
func beside(path, pattern string) ([]string, error) {
	return fs.Glob(os.DirFS(filepath.Dir(path)), strings.ReplaceAll(pattern, "%s", "*"))
}

// copiesBefore is how many copies of a record from before it was brought up to date are kept.
const copiesBefore = 3

// copyBefore copies a record of an older schema before it is brought up to date.
func (db *DB) copyBefore(ctx context.Context, has int64, what string) error {
	name := fmt.Sprintf(strings.Replace(beforeName, "%s", "%d-%s", 1), has, db.now().UTC().Format(stampLayout))
	path := filepath.Join(filepath.Dir(db.path), name)
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	if err := copyWhole(ctx, db.writer, path); err != nil {
		return translate(err, what+": the copy that is made before it is brought up to date")
	}
	return translate(db.dropBefore(path), what)
}

// dropBefore removes the oldest copies but for a few, and never the one given.
func (db *DB) dropBefore(keep string) error {
	all, err := beside(db.path, beforeName)
	if err != nil {
		return err
	}
	age := func(name string) time.Time {
		if info, err := os.Stat(filepath.Join(filepath.Dir(db.path), name)); err == nil {
			return info.ModTime()
		}
		return time.Time{}
	}
	slices.SortFunc(all, func(a, b string) int { return age(b).Compare(age(a)) })
	for i, name := range all {
		path := filepath.Join(filepath.Dir(db.path), name)
		if i >= copiesBefore && path != keep {
			if err := os.Remove(path); err != nil {
				return err
			}
		}
	}
	return nil
}

// Traces names what is left in a folder of the record at a path: the record itself, or what tells that there was one. "" where
// nothing does.
func Traces(path string) string {
	if _, err := os.Lstat(path); err == nil {
		return filepath.Base(path)
	}
	return earlier(path)
}

// Claim keeps every station off the record at a path, whether there is one or not, until release is called. ErrInUse.
func Claim(path string) (release func() error, err error) {
	what := "taking the record " + path
	db := &DB{path: path}
	if err := db.takeLock(what); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err == nil {
		db.file.open = f
		err = lockFile(f)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, errors.Join(translate(err, what), db.Close())
	}
	return db.Close, nil
}

// ReplacedFolder is the name of the folder, beside a record, that an older one is moved into.
func ReplacedFolder(at time.Time) string {
	return strings.Replace(replacedName, "%s", at.UTC().Format(stampLayout), 1)
}
