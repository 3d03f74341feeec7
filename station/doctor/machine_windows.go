package doctor

import "golang.org/x/sys/windows"

// freeBytes is what this user may still write into a folder's volume.
func freeBytes(dir string) (int64, error) {
	name, err := windows.UTF16PtrFromString(dir)
	if err != nil {
		return 0, err
	}
	var free uint64
	err = windows.GetDiskFreeSpaceEx(name, &free, nil, nil)
	return int64(free), err
}

func clockKept() (kept, known bool) { return false, false }
