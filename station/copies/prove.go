package copies

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"sagitta/batch"
)

// Proven is a copy that was unpacked and found whole.
type Proven struct {
	About
	Kind string // "archive", "encrypted archive" or "record alone"
}

// What a copy's file begins with.
const (
	sqliteMagic = "SQLite format 3\x00"
	zipMagic    = "PK\x03\x04"
	ageMagic    = "age-encryption.org/"
)

// longest text of copy.json
const mostAbout = 64 << 20

// Prove unpacks a copy into an empty folder and verifies all of it: every file's length and digest, and the record's trail. The error
// says what is wrong with the copy, batch.Mendable where it is no copy. An archive that lacks photographs is proved all the same: About.Lacks says which.
func Prove(ctx context.Context, path string, identities []age.Identity, into string) (p Proven, err error) {
	what := "the copy " + path
	f, err := os.Open(path)
	if err != nil {
		return p, fmt.Errorf("%s: %w", what, err)
	}
	defer func() { _ = f.Close() }()
	begin := make([]byte, len(ageMagic))
	n, err := io.ReadFull(f, begin)
	begin = begin[:n]
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return p, fmt.Errorf("%s: %w", what, err)
	}
	switch {
	case n == 0:
		return p, batch.Mendable.Errorf("%s is empty", what)
	case strings.HasPrefix(string(begin), sqliteMagic):
		p.Kind = "record alone"
		err = plain(ctx, path, into, &p)
	case strings.HasPrefix(string(begin), zipMagic):
		p.Kind = "archive"
		err = unpack(ctx, f, into, &p.About)
	case strings.HasPrefix(string(begin), ageMagic):
		p.Kind = "encrypted archive"
		err = decrypted(ctx, f, identities, into, &p.About)
	default:
		return p, batch.Mendable.Errorf("%s is none: it begins with %q; a copy is an archive (.zip), one that is encrypted (.zip.age) or a record (.db)", what, begin)
	}
	if err != nil {
		return p, fmt.Errorf("%s: %w", what, err)
	}
	holds, err := whole(ctx, filepath.Join(into, recordName))
	switch {
	case err != nil:
		return p, fmt.Errorf("%s: its record is not whole: %w", what, err)
	case p.Kind == "record alone":
		p.Entries, p.Newest = holds.entries, holds.newest
	case holds.entries != p.Entries || holds.newest != p.Newest:
		return p, batch.Machine.Errorf("%s: its record ends with entry %d, %s, the copy was made with entry %d, %s", what, holds.entries, holds.newest, p.Entries, p.Newest)
	default:
		p.Lacks = p.lacks(holds.known)
	}
	return p, nil
}

// plain takes a record alone, as its own copy wrote it. One that was copied by hand is opened where it lies first: its log is missed there.
func plain(ctx context.Context, path, into string, p *Proven) error {
	if _, err := whole(ctx, path); err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	p.Made = info.ModTime()
	for _, part := range []string{"", "-wal"} {
		in, err := os.Open(path + part)
		if part != "" && errors.Is(err, os.ErrNotExist) {
			return nil
		} else if err != nil {
			return err
		}
		_, _, err = place(ctx, in, filepath.Join(into, recordName+part), -1)
		if err := errors.Join(err, in.Close()); err != nil {
			return err
		}
	}
	return nil
}

// decrypted unpacks an archive that was encrypted.
func decrypted(ctx context.Context, f *os.File, identities []age.Identity, into string, about *About) error {
	if len(identities) == 0 {
		return batch.Mendable.Errorf("it is encrypted: give the file of the identity that it was encrypted for with --identity")
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	clear, err := age.Decrypt(f, identities...)
	var none *age.NoIdentityMatchError
	if errors.As(err, &none) {
		return batch.Mendable.Errorf("it was encrypted for somebody else: none of the identities opens it")
	} else if err != nil {
		return batch.Machine.Errorf("it is damaged where it says for whom it is: %v", err)
	}
	name := filepath.Join(into, "decrypted")
	if _, _, err := place(ctx, clear, name, -1); err != nil {
		return batch.Machine.Errorf("it is damaged or cut short: %v", err)
	}
	archive, err := os.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(unpack(ctx, archive, into, about), archive.Close(), os.Remove(name))
}

// unpack takes the archive's files that copy.json names, each as long as it says and with its digest.
func unpack(ctx context.Context, f *os.File, into string, about *About) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	z, err := zip.NewReader(f, info.Size())
	if err != nil {
		return batch.Machine.Errorf("it is damaged or cut short: %v", err)
	}
	if err := readAbout(z, about); err != nil {
		return err
	}
	if !slices.ContainsFunc(about.Files, func(e Entry) bool { return e.Name == recordName }) {
		return batch.Mendable.Errorf("it holds no %s: it is no copy of a station", recordName)
	}
	for _, e := range about.Files {
		if !allowed(e.Name) {
			return batch.Mendable.Errorf("it names %q, which belongs to no station; nothing of it is taken", e.Name)
		}
	}
	for _, e := range about.Files {
		in, err := z.Open(e.Name)
		if err != nil {
			return batch.Machine.Errorf("%s is missing in it: %v", e.Name, err)
		}
		n, sum, err := place(ctx, in, filepath.Join(into, filepath.FromSlash(e.Name)), e.Bytes)
		_ = in.Close()
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil && outOfRoom(err):
			return failed(err, "unpacking it")
		case err != nil:
			return batch.Machine.Errorf("%s in it is damaged: %v", e.Name, err)
		case n != e.Bytes || sum != e.SHA256:
			return batch.Machine.Errorf("%s in it is not as it was copied: %d bytes with the digest %s, it had %d with %s", e.Name, n, sum, e.Bytes, e.SHA256)
		}
	}
	return nil
}

func readAbout(z *zip.Reader, about *About) error {
	in, err := z.Open(aboutName)
	if err != nil {
		return batch.Mendable.Errorf("it holds no %s: it is no copy of a station", aboutName)
	}
	defer func() { _ = in.Close() }()
	text, err := io.ReadAll(io.LimitReader(in, mostAbout))
	if err == nil {
		err = json.NewDecoder(bytes.NewReader(text)).Decode(about)
	}
	switch {
	case err != nil:
		return batch.Machine.Errorf("%s in it is damaged: %v", aboutName, err)
	case about.Format > format:
		return batch.Machine.Errorf("it is of layout %d, this program knows up to %d; restore it with the newer program", about.Format, format)
	}
	return nil
}

// allowed says whether an entry may be unpacked: what belongs to a station, and nothing outside of its folder.
func allowed(name string) bool {
	if !filepath.IsLocal(filepath.FromSlash(name)) || strings.Contains(name, `\`) {
		return false
	}
	first, _, inFolder := strings.Cut(name, "/")
	return name == recordName || belongs(first) && inFolder == slices.Contains(ownFolders, first)
}

// place writes a file with its folders and puts it on the disk; of one whose length is known no more than one byte too many.
func place(ctx context.Context, in io.Reader, path string, length int64) (n int64, sum string, err error) {
	if err := os.MkdirAll(filepath.Dir(path), 0o750); err != nil {
		return 0, "", err
	}
	out, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o640)
	if err != nil {
		return 0, "", err
	}
	if length >= 0 {
		in = io.LimitReader(in, length+1)
	}
	h := sha256.New()
	n, err = io.Copy(io.MultiWriter(out, h), stoppable{ctx, in})
	if err == nil {
		err = out.Sync()
	}
	return n, hex.EncodeToString(h.Sum(nil)), errors.Join(err, out.Close())
}

// Drill proves a copy in a folder of its own, which is removed again, and that it is one of the record in dir.
func Drill(ctx context.Context, path string, identities []age.Identity, dir string) (p Proven, err error) {
	into, err := os.MkdirTemp("", "sagitta-drill-*")
	if err != nil {
		return p, batch.InTheMaking(err, "a folder for the drill")
	}
	defer func() { err = batch.InTheMaking(errors.Join(err, os.RemoveAll(into)), path, into) }()
	if p, err = Prove(ctx, path, identities, into); err != nil {
		return p, err
	}
	if p.Lacks != nil {
		return p, fmt.Errorf("the copy %s is whole, but %w", path, p.Lacks)
	}
	return p, ofRecord(ctx, p.About, filepath.Join(dir, recordName))
}

// Word says what a proven copy is.
func (p Proven) Word() string {
	return fmt.Sprintf("%s of %s, %d entries, the newest hash is %s", p.Kind, p.Made.Local().Format(time.DateTime), p.Entries, p.Newest)
}
