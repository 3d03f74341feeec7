package anchors

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
)

// tellWitness writes the checkpoints that the witness does not have yet into its folder: to one file each day, to which is only added.
func (s *Signer) tellWitness(ctx context.Context) error {
	if s.Witness == "" {
		return nil
	}
	h, err := s.heard()
	if err != nil {
		return err
	}
	if h.Folder != s.Witness {
		h = heard{Folder: s.Witness}
	}
	missed, err := s.Record.CheckpointsAfter(ctx, h.Entries)
	if err != nil || len(missed) == 0 {
		return err
	}
	if err := s.known(h); err != nil {
		return err
	}
	if h.Entries == 0 {
		missed = missed[len(missed)-1:] // a new witness begins with the newest, which covers all before
	}
	for _, c := range missed {
		if err := s.append(c); err != nil {
			return err
		}
		h.Entries = c.Size
	}
	return s.keepHeard(h)
}

// known says whether the folder is the one that checkpoints went to: a stick that was pulled leaves an empty one behind, or none.
func (s *Signer) known(h heard) error {
	if info, err := os.Stat(s.Witness); errors.Is(err, fs.ErrNotExist) {
		return batch.Absent.Errorf("the folder %s is not there: plug in what it is on, or make it", s.Witness)
	} else if err != nil {
		return err
	} else if !info.IsDir() {
		return batch.Mendable.Errorf("%s is a file; a witness has a folder", s.Witness)
	}
	if h.Entries == 0 {
		return nil
	}
	there, err := fs.Glob(os.DirFS(s.Witness), s.witnessFile("*"))
	if err != nil {
		return err
	}
	if len(there) == 0 {
		return batch.Absent.Errorf("the folder %s is not the one that checkpoints went to, for none is in it: plug that one in; for a new one remove %s in the station's folder", s.Witness, witnessName)
	}
	return nil
}

func (s *Signer) witnessFile(day string) string {
	return "sagitta-" + nameOf(s.Station) + "-" + day + ".txt"
}

// append adds a checkpoint to the day's file, and puts that on the disk.
func (s *Signer) append(c anchor.Checkpoint) error {
	path := filepath.Join(s.Witness, s.witnessFile(c.At.UTC().Format(time.DateOnly)))
	f, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o640)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(f, "%s\n", c.Note)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return record.SyncFolder(s.Witness)
}
