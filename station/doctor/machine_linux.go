package doctor

import "golang.org/x/sys/unix"

// freeBytes is what this user may still write into a folder's file system.
func freeBytes(dir string) (int64, error) {
	var s unix.Statfs_t
	if err := unix.Statfs(dir, &s); err != nil {
		return 0, err
	}
	return int64(s.Bavail) * s.Bsize, nil
}

// clockKept asks the kernel whether a time service holds the clock (adjtimex: the clock's state is TIME_ERROR while none does).
func clockKept() (kept, known bool) {
	var t unix.Timex
	state, err := unix.Adjtimex(&t)
	if err != nil {
		return false, false
	}
	const timeError = 5 // TIME_ERROR of <sys/timex.h>
	return state != timeError, true
}
