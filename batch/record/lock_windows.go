package record

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// beyond is where the byte that is locked lies, in units of 4 GiB: behind all that is in the file, and behind the bytes that SQLite locks.
const beyond = 1 << 30

// lockFile takes the file for this process alone; ErrInUse at once where another process has it. The lock goes with
// the process, however it ends.
func lockFile(f *os.File) error {
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &windows.Overlapped{OffsetHigh: beyond})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return ErrInUse
	}
	return err
}

// SyncFolder makes the names in a folder last, which here they do.
func SyncFolder(string) error { return nil }
