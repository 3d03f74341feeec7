package record

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes the file for this process alone; ErrInUse at once where another process has it. The lock goes with
// the process, however it ends.
func lockFile(f *os.File) error {
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, new(windows.Overlapped))
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return ErrInUse
	}
	return err
}
