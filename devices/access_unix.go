//go:build unix

package devices

import (
	"os"
	"os/user"
	"slices"
	"strconv"
	"syscall"
)

// Rights of the system call access: to read and to write.
const readAndWrite = 4 | 2

// forbidden says that a file is there and this user may not read and write it.
func forbidden(port string) bool {
	err := syscall.Access(port, readAndWrite)
	return err == syscall.EACCES || err == syscall.EPERM
}

// systemAccess looks at a device file. A group that has no name is told by its number.
func systemAccess(port string) (access, bool) {
	info, err := os.Stat(port)
	if err != nil {
		return access{}, false
	}
	file, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return access{}, false
	}
	a := access{port: port, mode: info.Mode().Perm(), owner: strconv.Itoa(int(file.Uid)), user: strconv.Itoa(os.Geteuid())}
	if u, err := user.LookupId(a.owner); err == nil {
		a.owner = u.Username
	}
	a.group = groupName(int(file.Gid))
	running, err := os.Getgroups()
	if err != nil {
		return access{}, false
	}
	if running = append(running, os.Getegid()); !slices.Contains(running, int(file.Gid)) {
		a.entered = entered(a.user, strconv.Itoa(int(file.Gid)))
	}
	for _, id := range running {
		if name := groupName(id); !slices.Contains(a.groups, name) {
			a.groups = append(a.groups, name)
		}
	}
	if u, err := user.LookupId(a.user); err == nil {
		a.user = u.Username
	}
	return a, true
}

// entered says that the system's accounts have a user in a group, both by number.
func entered(id, group string) bool {
	u, err := user.LookupId(id)
	if err != nil {
		return false
	}
	all, err := u.GroupIds()
	return err == nil && slices.Contains(all, group)
}

func groupName(id int) string {
	if g, err := user.LookupGroupId(strconv.Itoa(id)); err == nil {
		return g.Name
	}
	return strconv.Itoa(id)
}
