package record

import (
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes the file for this process alone; it fails at once where another process has it. The lock goes with
// the process, however it ends.
func lockFile(f *os.File) error {
	return windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, new(windows.Overlapped))
}
