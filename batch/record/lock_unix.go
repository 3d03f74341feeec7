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
