package devices

import (
	"fmt"
	"io/fs"
	"strings"
)

// access is who may open a port's device file, and who asks.
type access struct {
	port    string
	mode    fs.FileMode // its permissions
	owner   string
	group   string
	user    string   // as whom this program runs
	groups  []string // in which it runs
	entered bool     // the user has been put into the file's group, but this program was started before
}

// HelpOnPorts is where pages and messages lead from a port that does not open.
const HelpOnPorts = "/help/ports"

// MayNot says that this user may not open a port that is there, who may and what to do; "" where he may, or where that cannot be told
// before it is tried.
func MayNot(port string) string {
	if !forbidden(port) {
		return ""
	}
	if a, ok := systemAccess(port); ok {
		return a.words()
	}
	return sentence(port + ": " + Denied.Sentence() + "; " + Denied.ToDo())
}

// words say who may open the port, who asks, and what to do.
func (a access) words() string {
	in := "is in no group"
	if len(a.groups) > 0 {
		in = "is in " + strings.Join(a.groups, ", ")
	}
	const rules = " The workshop's own rules go before this; the station's page " + HelpOnPorts + " tells more."
	switch {
	case a.mode&0o060 != 0o060:
		return fmt.Sprintf("Only %s may open %s: its group %s has no right to read and write it. Whoever looks after this machine gives it to a group by a udev rule.", a.owner, a.port, a.group) + rules
	case a.entered:
		return fmt.Sprintf("%s may be opened by %s and by who is in the group %s. %s has been put into it, but this program was started before: log out and in again, or start the station's service again.", a.port, a.owner, a.group, a.user) + rules
	}
	return fmt.Sprintf("%s may be opened by %s and by who is in the group %s; %s %s. Whoever looks after this machine runs: sudo usermod -aG %s %s. Then log out and in again.", a.port, a.owner, a.group, a.user, in, a.group, a.user) + rules
}
