//go:build unix

package record

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lockFile takes the file for this process alone; ErrInUse at once where another process has it. The lock goes with
// the process, however it ends.
func lockFile(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return ErrInUse
	}
	return err
}

// SyncFolder makes the names in a folder last.
func SyncFolder(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = f.Sync()
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) { // a file system that has no such thing
		err = nil
	}
	return errors.Join(err, f.Close())
}
