package export

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"

	"sagitta/batch"
)

// WriteFile gives a file its new content whole or not at all: write fills a temporary file in the same folder, which is
// synchronised, closed and renamed to path, and then the folder is synchronised. When anything fails up to the renaming,
// the temporary file is removed and what stood at path before stands there still. Errors name path.
func WriteFile(path string, write func(io.Writer) error) (err error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return batch.Conflict.Errorf("write %s: it is a folder; name a file in it", path)
	}
	f, err := createBeside(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return batch.Absent.Errorf("write %s: the folder %s does not exist; make it or name another", path, filepath.Dir(path))
	case errors.Is(err, fs.ErrPermission):
		return batch.Machine.Errorf("write %s: you may not write in the folder %s; name another", path, filepath.Dir(path))
	case err != nil:
		return fmt.Errorf("write %s: %w", path, batch.InTheMaking(err, "the file in the making"))
	}
	defer func() {
		if err != nil {
			f.Close() // closed already when the rename failed
			os.Remove(f.Name())
			err = fmt.Errorf("write %s: %w", path, NoRoom(batch.InTheMaking(err, "the file in the making", f.Name())))
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

// TemporaryFile is what errors name a file that lies in the system's folder for temporary files.
const TemporaryFile = "a temporary file in the system's folder for them"

// temporary is an error of a file in that folder without its path, which nobody knows; any other is as it is.
func temporary(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) && filepath.Dir(at.Path) == filepath.Clean(os.TempDir()) {
		return batch.InTheMaking(err, TemporaryFile, at.Path)
	}
	return err
}

// ErrNoRoom is what a write that failed for want of room is.
var ErrNoRoom = batch.Machine.Errorf("there is no room for it")

// NoRoom says what to do where a write failed for want of room; other errors stay as they are.
func NoRoom(err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG) {
		return fmt.Errorf("%w (%v): make room on the disk, or name another folder", ErrNoRoom, err)
	}
	return err
}

// createBeside creates a new file in path's folder, with the permissions that a new file at path would get.
func createBeside(path string) (*os.File, error) {
	for {
		name := filepath.Join(filepath.Dir(path), "."+filepath.Base(path)+"."+strconv.FormatUint(rand.Uint64(), 36)+".part")
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}

// syncFolder makes a rename last through a loss of power. Windows has no such call for folders.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
