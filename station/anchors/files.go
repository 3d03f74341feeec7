package anchors

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
)

// PublicName is the file, in the station's folder, of the public part of its key.
const PublicName = "station.pub"

const (
	keyName     = "station.key"
	witnessName = "witness.json"
)

func (s *Signer) keyFile() string {
	if s.Options.Key != "" {
		return s.Options.Key
	}
	return filepath.Join(s.Dir, keyName)
}

// readKey reads the key, or makes it where there is none. One that was named is not made anew for a record that is signed already: it may
// lie on a stick that is not there. An empty file is filled.
func (s *Signer) readKey(signed bool) (*anchor.Key, error) {
	path := s.keyFile()
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) && signed && s.Options.Key != "" {
		return nil, batch.Mendable.Errorf("the key %s, which checkpoints are signed with, is missing: bring what it is on, or move the station's key there (%s in its folder, unless it lies elsewhere); for a new one make an empty file of this name", path, keyName)
	}
	if errors.Is(err, fs.ErrNotExist) || err == nil && len(text) == 0 {
		return s.makeKey(path)
	}
	if err != nil {
		return nil, fmt.Errorf("the key of checkpoints: %w", err)
	}
	if info, err := os.Stat(path); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		slog.Warn("others than the station's user may read or write the key of checkpoints", "file", path, "mode", info.Mode().Perm().String())
	}
	key, err := anchor.ReadKey(string(text))
	if err != nil {
		return nil, batch.Mendable.Errorf("%s: %v. Bring its copy back; or move it away, and the station makes another", path, err)
	}
	return key, s.publish(key)
}

func (s *Signer) makeKey(path string) (*anchor.Key, error) {
	if _, err := os.Stat(filepath.Dir(path)); errors.Is(err, fs.ErrNotExist) {
		return nil, batch.Mendable.Errorf("the folder %s for the key of checkpoints is not there: plug in what it is on, or make it", filepath.Dir(path))
	}
	private, err := anchor.NewKey(s.Station)
	if err != nil {
		return nil, err
	}
	key, err := anchor.ReadKey(private)
	if err == nil {
		err = write(path, private+"\n", 0o600)
	}
	if err == nil {
		err = s.publish(key)
	}
	return key, err
}

// publish puts the public part into the station's folder.
func (s *Signer) publish(key *anchor.Key) error {
	path, text := filepath.Join(s.Dir, PublicName), key.Public+"\n"
	if has, err := os.ReadFile(path); err == nil && string(has) == text {
		return nil
	}
	return write(path, text, 0o640)
}

// lastFile is beside the key, and tells what this station signed last: who has the record's file alone cannot change it.
func (s *Signer) lastFile() string {
	path := s.keyFile()
	return strings.TrimSuffix(path, filepath.Ext(path)) + "-" + nameOf(s.Station) + ".signed"
}

func (s *Signer) remember(c anchor.Checkpoint) error { return write(s.lastFile(), c.Note, 0o600) }

// last is what was signed last, nil where nothing was or it cannot be told any more.
func (s *Signer) last() (*anchor.Checkpoint, error) {
	text, err := os.ReadFile(s.lastFile())
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	c, err := anchor.Parse(string(text))
	if err != nil {
		slog.Warn("what was signed last is not known any more", "file", s.lastFile(), "error", err)
		return nil, nil
	}
	return &c, nil
}

// heard is what a witness has.
type heard struct {
	Folder  string `json:"folder"`
	Entries int64  `json:"entries"` // of the newest checkpoint
}

func (s *Signer) heard() (h heard, err error) {
	text, err := os.ReadFile(filepath.Join(s.Dir, witnessName))
	if errors.Is(err, fs.ErrNotExist) {
		return h, nil
	}
	if err == nil && json.Unmarshal(text, &h) != nil {
		h = heard{} // it is told the newest
	}
	return h, err
}

func (s *Signer) keepHeard(h heard) error {
	text, err := json.Marshal(h)
	if err != nil {
		return err
	}
	return write(filepath.Join(s.Dir, witnessName), string(text)+"\n", 0o640)
}

// nameOf is a station's name as it stands in file names.
func nameOf(station string) string {
	return regexp.MustCompile(`[^\pL\pN_]+`).ReplaceAllString(station, "-")
}

// write puts a file in its place whole or not at all.
func write(path, text string, mode fs.FileMode) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".station-*.part") // 0600
	if err != nil {
		return fmt.Errorf("writing %s: %w", path, batch.InTheMaking(err, path))
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("writing %s: %w", path, batch.InTheMaking(errors.Join(err, os.Remove(f.Name())), path, f.Name()))
		}
	}()
	_, err = f.WriteString(text)
	if err := errors.Join(err, f.Chmod(mode), f.Close()); err != nil {
		return err
	}
	return record.Lasting(f.Name(), path)
}
