package copies

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
)

// Restoring says where a copy is brought back to.
type Restoring struct {
	Dir        string // of the station; made when missing
	Station    string // its name; may be empty where the copy says it, which a record alone does not
	Replace    bool   // what is there is moved aside
	Identities []age.Identity
	Now        time.Time
}

// Restore proves a copy beside the place where it belongs, and takes it only then. Where there is, or was, a record already nothing is
// done, batch.Conflict, unless it is to be replaced: then what is there is moved into a folder of its own first, whose name is
// returned. No station may have it open.
func Restore(ctx context.Context, path string, how Restoring) (p Proven, aside string, err error) {
	aside, err = how.put("restored", func(part string) error {
		if p, err = Prove(ctx, path, how.Identities, part); err != nil {
			return err
		}
		return how.note(ctx, filepath.Join(part, recordName), filepath.Base(path), p)
	})
	return p, aside, err
}

// note has the trail of a record that is brought back say so. One of an older schema is brought up to date by it, as its station would.
func (how Restoring) note(ctx context.Context, file, from string, p Proven) error {
	db, err := record.Open(file, record.Options{Station: cmp.Or(how.Station, p.Station), Existing: true, Now: func() time.Time { return how.Now }})
	if err != nil {
		return err
	}
	return errors.Join(db.NoteRestored(ctx, from, p.Made, p.Entries), db.Close())
}

// Salvage writes what can be read of a damaged record's file into a new record, and puts that where Restore would put a copy. The
// damaged file is kept; one that lies there is moved aside with all else.
func Salvage(ctx context.Context, path, station string, how Restoring) (s record.Salvaged, aside string, err error) {
	aside, err = how.put("salvaged", func(part string) error {
		s, err = record.Salvage(ctx, path, filepath.Join(part, recordName), station, func() time.Time { return how.Now })
		return err
	})
	return s, aside, err
}

// put has a record, and what belongs to it, made in a folder beside the place where they belong, and moves them there.
func (how Restoring) put(done string, produce func(part string) error) (aside string, err error) {
	if err := os.MkdirAll(how.Dir, 0o750); err != nil {
		return "", fmt.Errorf("the folder %s for the record cannot be made: %w", how.Dir, err)
	}
	at := filepath.Join(how.Dir, recordName)
	there := record.Traces(at)
	if there != "" && !how.Replace {
		return "", batch.Conflict.Errorf("the folder %s has a record, or had one: %s is there. Nothing was changed; give another folder with --data, or --replace, which moves what is there aside first", how.Dir, there)
	}
	release, err := record.Claim(at)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, release()) }()
	if err := how.dropParts(); err != nil {
		return "", fmt.Errorf("what an earlier time that was cut short left in %s cannot be removed: %w", how.Dir, err)
	}
	part, err := os.MkdirTemp(how.Dir, restoring+"*"+partEnding)
	if err != nil {
		return "", failed(batch.InTheMaking(err, how.Dir), "writing into "+how.Dir)
	}
	defer func() { err = batch.InTheMaking(errors.Join(err, os.RemoveAll(part)), how.Dir, part) }()
	if err := produce(part); err != nil {
		return "", fmt.Errorf("nothing was %s: %w", done, err)
	}
	if there != "" {
		if aside, err = moveAside(how); err != nil {
			return aside, fmt.Errorf("nothing was %s: what is in %s could not be moved aside: %w", done, how.Dir, err)
		}
	}
	if err := takeIn(part, how.Dir); err != nil {
		return aside, fmt.Errorf("moving the record to its place: %w; run it again with --replace", err)
	}
	return aside, nil
}

// restoring begins the names of folders in which a record is made before it is moved to its place.
const restoring = ".restore-"

// dropParts removes such folders of a time before that was cut short.
func (how Restoring) dropParts() error {
	found, err := os.ReadDir(how.Dir)
	for _, e := range found {
		if e.IsDir() && strings.HasPrefix(e.Name(), restoring) && strings.HasSuffix(e.Name(), partEnding) {
			err = errors.Join(err, os.RemoveAll(filepath.Join(how.Dir, e.Name())))
		}
	}
	return err
}

// moveAside moves the record in a folder, its log and what a copy holds into a folder in it. The lock stays; so do photographs, which are what their names say,
// whatever record knows them.
func moveAside(how Restoring) (string, error) {
	aside := filepath.Join(how.Dir, record.ReplacedFolder(how.Now))
	if err := os.Mkdir(aside, 0o750); err != nil {
		return "", err
	}
	names, err := belonging(how.Dir)
	if err != nil {
		return aside, err
	}
	names = slices.DeleteFunc(names, func(name string) bool { return name == photograph.Folder })
	for _, name := range append(names, recordName+"-wal", recordName+"-shm", recordName+"-journal", recordName) { // the record last: it is looked for
		if err := os.Rename(filepath.Join(how.Dir, name), filepath.Join(aside, name)); err != nil && !errors.Is(err, os.ErrNotExist) {
			return aside, err
		}
	}
	return aside, record.SyncFolder(how.Dir)
}

// takeIn moves what was unpacked to its place, photographs to those that are there, the record last.
func takeIn(part, dir string) error {
	names, err := belonging(part)
	if err != nil {
		return err
	}
	if slices.Contains(names, photograph.Folder) {
		if err := addPhotographs(part, dir); err != nil {
			return err
		}
		names = slices.DeleteFunc(names, func(name string) bool { return name == photograph.Folder })
	}
	for _, name := range append(names, recordName+"-wal", recordName) {
		err := os.Rename(filepath.Join(part, name), filepath.Join(dir, name))
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			return err
		}
	}
	return record.SyncFolder(dir)
}

// addPhotographs moves photographs that were unpacked to those that are there; one of the same name is replaced, unless it is whole: the copy's may have been
// damaged when it was made.
func addPhotographs(part, dir string) error {
	return filepath.WalkDir(filepath.Join(part, photograph.Folder), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		within, err := filepath.Rel(part, path)
		if err != nil {
			return err
		}
		if _, err := photograph.Read(dir, strings.TrimSuffix(filepath.Base(path), ".jpg")); err == nil {
			return nil
		}
		to := filepath.Join(dir, within)
		if err := os.MkdirAll(filepath.Dir(to), 0o750); err != nil {
			return err
		}
		return errors.Join(os.Rename(path, to), record.SyncFolder(filepath.Dir(to)))
	})
}

// ofRecord says whether a copy is one of a record: the entry that it ends with is in that one's trail.
func ofRecord(ctx context.Context, about About, path string) error {
	db, err := record.Open(path, record.Options{ReadOnly: true, AsItIs: true})
	if err != nil {
		return fmt.Errorf("the copy is whole; whether it is one of this record cannot be told: %w", err)
	}
	defer func() { _ = db.Close() }()
	hash, err := db.HashOf(ctx, about.Entries)
	switch {
	case err != nil:
		return err
	case hash == "":
		return batch.Machine.Errorf("the copy is whole, and has %d entries; the record in use has fewer: it is another, or an older one", about.Entries)
	case hash != about.Newest:
		return batch.Machine.Errorf("the copy is whole, and is one of another record: entry %d of its trail has the hash %s, here that one has %s", about.Entries, about.Newest, hash)
	}
	return nil
}

// Newest is the newest scheduled copy in a folder, by the times in their names; a file is itself.
func Newest(path string) (string, error) {
	if info, err := os.Stat(path); err != nil {
		return path, fmt.Errorf("the copies in %s: %w", path, err)
	} else if !info.IsDir() {
		return path, nil
	}
	all, err := made(path, "")
	if err != nil {
		return path, err
	}
	if len(all) == 0 {
		return path, batch.Absent.Errorf("there is no copy in the folder %s; scheduled copies are named %s", path, strings.Replace(namePattern, "%s", "STATION-TIME", 1))
	}
	return all[len(all)-1], nil
}
