package devices

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Lister lists the ports that are plugged in; ListPorts is the real one.
type Lister func() ([]PortInfo, error)

// PortInfo is one port that is plugged in.
type PortInfo struct {
	Name     string   // what it is opened by, this time
	Identity Identity // zero when the port is not USB
	Socket   string   // the place it is plugged into, the same at every plugging; "" where the system does not say
	Words    string   // what the adapter calls itself; "" when it does not
}

// ListPorts lists the serial ports, sorted by name. Pseudo-terminals are never among them. On some systems it opens
// built-in ports for a moment to see whether they are real.
func ListPorts() ([]PortInfo, error) {
	ports, err := systemPorts()
	if err != nil {
		return nil, &Error{Kind: Failed, Port: "(list of ports)", Err: err}
	}
	sockets := socketsIn("/dev/serial/by-path")
	for i := range ports {
		ports[i].Socket = sockets[ports[i].Name]
	}
	slices.SortFunc(ports, func(a, b PortInfo) int { return strings.Compare(a.Name, b.Name) })
	return ports, nil
}

// socketsIn reads a folder of links that are named for sockets and lead to ports, as udev keeps one on Linux: the socket
// of each port. Without the folder no socket is known.
func socketsIn(folder string) map[string]string {
	sockets := map[string]string{}
	links, err := os.ReadDir(folder)
	if err != nil {
		return sockets
	}
	for _, l := range links { // in order of names: of two names for one socket the first counts, at every plugging
		if port, err := filepath.EvalSymlinks(filepath.Join(folder, l.Name())); err == nil && sockets[port] == "" {
			sockets[port] = l.Name()
		}
	}
	return sockets
}

// Alikes returns the ports that bear an identity, which are several where adapters have no serial number, or the same.
func Alikes(ports []PortInfo, want Identity) []PortInfo {
	var found []PortInfo
	for _, p := range ports {
		i := p.Identity
		if !i.IsZero() && strings.EqualFold(i.Vendor, want.Vendor) && strings.EqualFold(i.Product, want.Product) &&
			(want.Serial == "" || i.Serial == want.Serial) {
			found = append(found, p)
		}
	}
	return found
}

// find looks for the one port that bears an identity, wherever it is plugged in. Adapters that are alike are told apart by
// their sockets: socket is this gauge's, others are those of gauges with the same identity. While there are others, a
// gauge is found in its own socket only; rivals are gauges whose identity has a serial number where this one's has none.
// Where a choice would be a guess, it is an error.
func find(ports []PortInfo, want Identity, socket string, others []string, rivals []Identity) (string, error) {
	found := slices.DeleteFunc(Alikes(ports, want), func(p PortInfo) bool { return slices.Contains(rivals, p.Identity.folded()) })
	for _, p := range found {
		if socket != "" && p.Socket == socket {
			return p.Name, nil
		}
	}
	if socket != "" && len(others) > 0 {
		return "", &Error{Kind: Missing, Port: want.String() + " in socket " + socket}
	}
	found = slices.DeleteFunc(found, func(p PortInfo) bool { return p.Socket != "" && slices.Contains(others, p.Socket) })
	switch len(found) {
	case 0:
		return "", &Error{Kind: Missing, Port: want.String()}
	case 1:
		return found[0].Name, nil
	}
	return "", &Error{Kind: Alike, Port: want.String(), Err: errTwins(found)}
}

// errTwins says which ports have the same identity.
type errTwins []PortInfo

func (e errTwins) Error() string {
	names := make([]string, len(e))
	for i, p := range e {
		names[i] = p.Name
		if p.Socket != "" {
			names[i] += " in socket " + p.Socket
		}
	}
	return "cannot be told apart: " + strings.Join(names, ", ")
}

// folded writes vendor and product in lower case: systems differ in how they write hex digits.
func (i Identity) folded() Identity {
	return Identity{Vendor: strings.ToLower(i.Vendor), Product: strings.ToLower(i.Product), Serial: i.Serial}
}

// String writes the identity as vendor:product:serial.
func (i Identity) String() string {
	s := i.Vendor + ":" + i.Product
	if i.Serial != "" {
		s += ":" + i.Serial
	}
	return s
}
