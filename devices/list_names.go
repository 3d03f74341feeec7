//go:build darwin && !cgo

package devices

import "go.bug.st/serial"

// systemPorts lists names only: on macOS the library reads USB identities with cgo, which this build is without.
func systemPorts() ([]PortInfo, error) {
	names, err := serial.GetPortsList()
	if err != nil {
		return nil, err
	}
	ports := make([]PortInfo, len(names))
	for i, name := range names {
		ports[i] = PortInfo{Name: name}
	}
	return ports, nil
}
