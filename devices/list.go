package devices

import (
	"slices"
	"strings"
)

// Lister lists the ports that are plugged in; ListPorts is the real one.
type Lister func() ([]PortInfo, error)

// PortInfo is one port that is plugged in.
type PortInfo struct {
	Name     string   // what it is opened by, this time
	Identity Identity // zero when the port is not USB
	Words    string   // what the adapter calls itself; "" when it does not
}

// ListPorts lists the serial ports, sorted by name. Pseudo-terminals are never among them. On some systems it opens
// built-in ports for a moment to see whether they are real.
func ListPorts() ([]PortInfo, error) {
	ports, err := systemPorts()
	if err != nil {
		return nil, &Error{Kind: Failed, Port: "(list of ports)", Err: err}
	}
	slices.SortFunc(ports, func(a, b PortInfo) int { return strings.Compare(a.Name, b.Name) })
	return ports, nil
}

// find looks for the one port that bears an identity. Where the identity has no serial number, two adapters of the
// same make cannot be told apart, and that is an error rather than a guess.
func find(ports []PortInfo, want Identity) (string, error) {
	var found []string
	for _, p := range ports {
		i := p.Identity
		if strings.EqualFold(i.Vendor, want.Vendor) && strings.EqualFold(i.Product, want.Product) &&
			(want.Serial == "" || i.Serial == want.Serial) {
			found = append(found, p.Name)
		}
	}
	switch len(found) {
	case 0:
		return "", &Error{Kind: Missing, Port: want.String()}
	case 1:
		return found[0], nil
	}
	return "", &Error{Kind: Failed, Port: want.String(), Err: errTwins(found)}
}

// errTwins says which ports have the same identity.
type errTwins []string

func (e errTwins) Error() string {
	return "cannot be told apart: " + strings.Join(e, ", ") +
		"; leave one plugged in, or configure the gauge by a path that belongs to one socket"
}

// String writes the identity as vendor:product:serial.
func (i Identity) String() string {
	s := i.Vendor + ":" + i.Product
	if i.Serial != "" {
		s += ":" + i.Serial
	}
	return s
}
