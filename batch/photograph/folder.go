package photograph

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"sagitta/batch"
	"sagitta/batch/record"
)

// Folder is the folder, in a record's, that holds its photographs.
const Folder = "photographs"

// Name is the name of a photograph's file in a record's folder, with a slash.
func Name(digest string) string { return Folder + "/" + digest + ".jpg" }

func fileIn(dir, digest string) string { return filepath.Join(dir, filepath.FromSlash(Name(digest))) }

// keeping is held from the moment that a file is written until the record knows it, or it is gone again.
var keeping sync.Mutex

// Keep puts photographs on the disk in the folder of a record and then has the record note them: what the record knows is there. Where they
// could not be noted, or one of them not be written, none is kept. batch.Machine where the disk refuses one.
func Keep(dir string, all []Photograph, note func() error) (err error) {
	keeping.Lock()
	defer keeping.Unlock()
	var written []string
	defer func() {
		for _, name := range written {
			if err != nil {
				err = errors.Join(err, os.Remove(name))
			}
		}
	}()
	for _, p := range all {
		if _, err := Read(dir, p.Digest); err == nil {
			continue
		}
		name := fileIn(dir, p.Digest)
		_, was := os.Lstat(name)
		if err := p.write(dir, name); err != nil {
			return err
		}
		if was != nil { // else the record may know it: it was damaged
			written = append(written, name)
		}
	}
	return note()
}

// write puts the file on the disk: under another name, so that a file of its own name is whole. That one lies beside the folder, of which copies are made.
func (p Photograph) write(dir, name string) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o750); err != nil {
		return refused(err)
	}
	part := filepath.Join(dir, "."+Folder+".part") // one at a time; what is left of a station that was killed is written over
	err := os.WriteFile(part, p.JPEG, 0o640)
	if err == nil {
		err = record.Lasting(part, name)
	}
	if err != nil {
		return errors.Join(refused(batch.InTheMaking(err, "its file", part)), os.RemoveAll(part))
	}
	return nil
}

// refused says of a file that could not be written what to do.
func refused(err error) error {
	kind := record.ErrNotWritten
	if errors.Is(err, fs.ErrPermission) {
		kind = record.ErrReadOnly
	}
	return fmt.Errorf("keeping the photograph: %w (%v)", kind, err)
}

// Read is the file of a photograph in the folder of a record, compared with its digest. batch.Machine where it is missing or is not what was kept.
func Read(dir, digest string) ([]byte, error) {
	if sum, err := hex.DecodeString(digest); err != nil || len(sum) != sha256.Size {
		return nil, batch.Absent.Errorf("%q is the name of no photograph", digest)
	}
	name := Name(digest)
	file, err := os.ReadFile(fileIn(dir, digest))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, batch.Machine.Errorf("the photograph %s is missing in the record's folder: bring it back from a copy", name)
	case err != nil:
		return nil, fmt.Errorf("the photograph %s: %w", name, err)
	}
	if sum := sha256.Sum256(file); hex.EncodeToString(sum[:]) != digest {
		return nil, batch.Machine.Errorf("the photograph %s is not as it was kept: its file was changed or is damaged; bring it back from a copy", name)
	}
	return file, nil
}

// Small is a photograph in the folder of a record with a longer side of so many pixels at most, for a page or for print. Errors are those of Read.
func Small(dir, digest string, longer int) (Photograph, error) {
	file, err := Read(dir, digest)
	if err != nil {
		return Photograph{}, err
	}
	return smaller(file, longer)
}

// Missing says of the photographs that a record knows whose files are missing in its folder or are not as they were kept; "" where all are there.
func Missing(dir string, known []batch.Photograph) (words string, err error) {
	return Faults(known, func(name string) (string, error) {
		file, err := os.Open(filepath.Join(dir, filepath.FromSlash(name)))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return "", nil
		case err != nil:
			return "", err
		}
		sum := sha256.New()
		_, err = io.Copy(sum, file)
		return hex.EncodeToString(sum.Sum(nil)), errors.Join(err, file.Close())
	})
}

// mostTold is how many photographs are told of one by one.
const mostTold = 10

// Faults says of the photographs that a record knows which are missing or not as they were kept; "" where none is. sum is the SHA-256 of the file
// of a name in hex, "" where there is none.
func Faults(known []batch.Photograph, sum func(name string) (string, error)) (string, error) {
	var words []string
	seen := map[string]bool{}
	for _, p := range known {
		if seen[p.Digest] {
			continue
		}
		seen[p.Digest] = true
		got, err := sum(Name(p.Digest))
		if err != nil {
			return "", fmt.Errorf("the photograph %s: %w", Name(p.Digest), err)
		}
		about := p.Serial
		if p.Pin != batch.WholeInstrument {
			about += ", " + p.Pin
		}
		switch got {
		case p.Digest:
		case "":
			words = append(words, fmt.Sprintf("%s is missing (%s)", Name(p.Digest), about))
		default:
			words = append(words, fmt.Sprintf("%s is not as it was kept (%s)", Name(p.Digest), about))
		}
	}
	if more := len(words) - mostTold; more > 0 {
		words = append(words[:mostTold], fmt.Sprintf("and so with %d more", more))
	}
	return strings.Join(words, "; "), nil
}
