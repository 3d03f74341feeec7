// Package copies makes copies of a station's record and of what belongs to it, keeps so many of them, proves them and brings them back.
//
// A copy is one ZIP archive (PKWARE's APPNOTE 6.3), or that encrypted with age (age-encryption.org/v1), with these entries:
//
//	copy.json       About: what the copy is, and the length and SHA-256 of every other entry
//	record.db       the record, as backup FILE.db writes it
//	checkpoint.txt  the newest signed checkpoint, where the station signs any
//	station.pub     the public part of the station's key, where it has one
//	sheet.toml      how the shop's sheet looks, where it has one of its own, and the pictures (.png, .jpg, .jpeg) beside it
//	decoders/       decoders that were made of what gauges send
//	photographs/    photographs of instruments, named by their SHA-256
//
// A plain record.db, as backup FILE.db writes it, is a copy too.
package copies

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"log/slog"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
)

// Names of a copy's entries.
const (
	aboutName  = "copy.json"
	recordName = "record.db"
)

// Files and folders of a station's folder that a copy holds beside the record.
var (
	ownFiles   = []string{anchor.CopyName, "station.pub", "sheet.toml"}
	ownFolders = []string{"decoders", photograph.Folder}
)

// belongs says whether a name in a station's folder is of what a copy holds; so are pictures, one of which the sheet shows.
func belongs(name string) bool {
	return slices.Contains(ownFiles, name) || slices.Contains(ownFolders, name) || slices.Contains([]string{".png", ".jpg", ".jpeg"}, strings.ToLower(path.Ext(name)))
}

// belonging lists what of a folder belongs to a station.
func belonging(dir string) (names []string, err error) {
	all, err := os.ReadDir(dir)
	for _, e := range all {
		if belongs(e.Name()) && (!e.IsDir() || slices.Contains(ownFolders, e.Name())) {
			names = append(names, e.Name())
		}
	}
	return names, err
}

// format is the number of the archive's layout.
const format = 1

// About says what a copy is.
type About struct {
	Format  int       `json:"format"`
	Program string    `json:"program"` // that made it
	Station string    `json:"station"`
	Made    time.Time `json:"made"`
	Entries int64     `json:"entries"` // of the record's trail
	Newest  string    `json:"newest"`  // the newest entry's hash
	Files   []Entry   `json:"files"`

	Lacks error `json:"-"` // photographs that its record knows and that are missing in it or changed; nil: none
}

// Entry is a file in a copy.
type Entry struct {
	Name   string `json:"name"` // with slashes
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"` // in hex
}

// Making says how a copy is made.
type Making struct {
	Dir        string // the station's folder; "" where there is the record alone
	Station    string
	Program    string
	Recipients []age.Recipient // who may read it; none: anybody
	Now        func() time.Time
	Sign       func(ctx context.Context) error // signs what the record is, before it is copied; nil: it is copied as it is
}

// Write writes a copy of the station's record and what belongs to it to path, while the station works on: under another name, on the
// disk, read back and proved before it gets its own. The file must not exist; it is there whole or not at all. batch.Conflict where it
// exists, batch.Absent where its folder does not, batch.Machine where there was no room or the record is not whole. A copy is made also where photographs are
// missing or changed: About.Lacks says which.
func Write(ctx context.Context, db *record.DB, path string, how Making) (about About, err error) {
	what := "copying the station's record to " + path
	if _, err := os.Lstat(path); err == nil {
		return about, batch.Conflict.Errorf("%s: there is a file of this name already, and a copy never overwrites: choose a new name", what)
	}
	part, err := os.MkdirTemp(filepath.Dir(path), "."+filepath.Base(path)+".*"+partEnding)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return about, batch.Absent.Errorf("%s: the folder %s does not exist; make it or name another", what, filepath.Dir(path))
	case err != nil:
		return about, failed(batch.InTheMaking(err, path), what)
	}
	defer func() { err = batch.InTheMaking(errors.Join(err, failed(os.RemoveAll(part), what)), path, part) }()
	if how.Sign != nil {
		if err := how.Sign(ctx); err != nil { // the station shows it
			slog.Warn("a copy is made of what is not signed", "error", err)
		}
	}
	if err := db.Backup(ctx, filepath.Join(part, recordName)); err != nil {
		return about, err
	}
	about = About{Format: format, Program: how.Program, Station: how.Station, Made: how.Now().UTC().Truncate(time.Second)}
	holds, err := whole(ctx, filepath.Join(part, recordName))
	if err != nil {
		return about, fmt.Errorf("%s: the copy was made and is not whole: %w", what, err)
	}
	about.Entries, about.Newest = holds.entries, holds.newest
	if err := anchored(ctx, part); err != nil {
		return about, failed(err, what)
	}
	packed := filepath.Join(part, "packed")
	if err := pack(ctx, packed, part, &about, how); err != nil {
		return about, failed(err, what)
	}
	about.Lacks = about.lacks(holds.known)
	return about, failed(record.Lasting(packed, path), what)
}

// partEnding ends the names of copies in the making.
const partEnding = ".part"

// held is what a record holds that was verified.
type held struct {
	entries int64  // of its trail
	newest  string // the newest entry's hash
	known   []batch.Photograph
}

// whole verifies a record and returns what it holds.
func whole(ctx context.Context, path string) (h held, err error) {
	db, err := record.Open(path, record.Options{ReadOnly: true, AsItIs: true})
	if err != nil {
		return h, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := db.VerifyAudit(ctx); err != nil {
		return h, err
	}
	if h.known, err = db.AllPhotographs(ctx); err != nil {
		return h, err
	}
	last, err := db.Audit(ctx, 1)
	if err != nil || len(last) == 0 {
		return h, err
	}
	h.entries, h.newest = last[0].Seq, last[0].Hash
	return h, nil
}

// lacks says which of the photographs that a copy's record knows are not in it as they were kept, nil where all are.
func (a About) lacks(known []batch.Photograph) error {
	sums := map[string]string{}
	for _, e := range a.Files {
		sums[e.Name] = e.SHA256
	}
	words, err := photograph.Faults(known, func(name string) (string, error) { return sums[name], nil })
	if err != nil || words == "" {
		return err
	}
	return batch.Machine.Errorf("of the photographs that its record knows %s", words)
}

// anchored puts the newest checkpoint of the copied record beside it.
func anchored(ctx context.Context, part string) error {
	db, err := record.Open(filepath.Join(part, recordName), record.Options{ReadOnly: true, AsItIs: true})
	if err != nil {
		return err
	}
	c, err := db.NewestCheckpoint(ctx)
	if err := errors.Join(err, db.Close()); err != nil || c == nil {
		return err
	}
	return os.WriteFile(filepath.Join(part, anchor.CopyName), []byte(c.Note), 0o640)
}

// pack writes the archive, puts it on the disk and reads it back.
func pack(ctx context.Context, to, part string, about *About, how Making) error {
	f, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o640)
	if err != nil {
		return err
	}
	sum := sha256.New()
	err = packInto(ctx, io.MultiWriter(f, sum), part, about, how)
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		err = readBack(f, sum)
	}
	return errors.Join(err, f.Close())
}

func packInto(ctx context.Context, out io.Writer, part string, about *About, how Making) error {
	sealed := io.WriteCloser(nopCloser{out})
	if len(how.Recipients) > 0 {
		var err error
		if sealed, err = age.Encrypt(out, how.Recipients...); err != nil {
			return err
		}
	}
	z := zip.NewWriter(sealed)
	for _, name := range []string{recordName, anchor.CopyName} {
		if err := about.add(ctx, z, filepath.Join(part, name), name); err != nil && (name == recordName || !errors.Is(err, fs.ErrNotExist)) {
			return err
		}
	}
	if how.Dir != "" {
		if err := about.addBelonging(ctx, z, how.Dir); err != nil {
			return err
		}
	}
	text, err := json.MarshalIndent(about, "", "  ")
	if err != nil {
		return err
	}
	w, err := z.Create(aboutName)
	if err == nil {
		_, err = w.Write(append(text, '\n'))
	}
	return errors.Join(err, z.Close(), sealed.Close())
}

type nopCloser struct{ io.Writer }

func (nopCloser) Close() error { return nil }

// addBelonging puts what belongs to a station into the archive. What is gone when its turn comes, as a photograph that was not recorded, is left out.
func (a *About) addBelonging(ctx context.Context, z *zip.Writer, dir string) error {
	names, err := belonging(dir)
	if err != nil {
		return err
	}
	for _, name := range names {
		if name == anchor.CopyName { // of the copy that was brought back
			continue
		}
		err := filepath.WalkDir(filepath.Join(dir, name), func(path string, d fs.DirEntry, err error) error {
			if err == nil && d.Type().IsRegular() {
				within, outside := filepath.Rel(dir, path)
				if outside == nil && allowed(filepath.ToSlash(within)) {
					err = a.add(ctx, z, path, filepath.ToSlash(within))
				}
			}
			if errors.Is(err, fs.ErrNotExist) {
				return nil
			}
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// add puts one file into the archive.
func (a *About) add(ctx context.Context, z *zip.Writer, path, name string) error {
	in, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = in.Close() }()
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: a.Made})
	if err != nil {
		return err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(w, sum), stoppable{ctx, in})
	a.Files = append(a.Files, Entry{Name: name, Bytes: n, SHA256: hex.EncodeToString(sum.Sum(nil))})
	return err
}

// stoppable reads until its context ends.
type stoppable struct {
	ctx context.Context
	io.Reader
}

func (s stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.Reader.Read(p)
}

// readBack compares what the disk gives back with what was written.
func readBack(f *os.File, written hash.Hash) error {
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return err
	}
	if string(sum.Sum(nil)) != string(written.Sum(nil)) {
		return batch.Machine.Errorf("what was read back is not what was written: the disk is failing")
	}
	return nil
}

// failed gives what went wrong with a copy's files its sentence.
func failed(err error, what string) error {
	switch {
	case err == nil:
		return nil
	case outOfRoom(err):
		return batch.Machine.Errorf("%s: there is no room for it (%v); what was there before is as it was. Make room, or choose another folder", what, err)
	case errors.Is(err, fs.ErrPermission):
		return batch.Machine.Errorf("%s: it may not be written there (%v); give the folder to the user that the station runs as", what, err)
	}
	return fmt.Errorf("%s: %w", what, err)
}

// Archive says whether a file's name asks for an archive, and not for the record alone.
func Archive(path string) bool {
	return strings.HasSuffix(path, ".zip") || strings.HasSuffix(path, ".zip.age")
}

// Recipients reads a file of age recipients, one a line (https://age-encryption.org/v1).
func Recipients(path string) ([]age.Recipient, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	all, err := age.ParseRecipients(f)
	if err != nil {
		return nil, batch.Mendable.Errorf("the recipients in %s: %v; expected is one age recipient a line, beginning with age1", path, err)
	}
	return all, nil
}

// Identities reads a file of age identities: the secret part of what a copy was encrypted for.
func Identities(path string) ([]age.Identity, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	all, err := age.ParseIdentities(f)
	if err != nil {
		return nil, batch.Mendable.Errorf("the identities in %s: %v; expected is a line that begins with AGE-SECRET-KEY-1", path, err)
	}
	return all, nil
}
