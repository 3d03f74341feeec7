//go:build unix

package record

import (
	"os"

	"golang.org/x/sys/unix"
)

// lockFile takes the file for this process alone; it fails at once where another process has it. The lock goes with
// the process, however it ends.
func lockFile(f *os.File) error {
	return unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
}
