//go:build !darwin || cgo

package devices

import "go.bug.st/serial/enumerator"

// systemPorts asks the system for ports and USB identities. On macOS the library needs cgo for it.
func systemPorts() ([]PortInfo, error) {
	details, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return nil, err
	}
	ports := make([]PortInfo, len(details))
	for i, d := range details {
		ports[i] = PortInfo{Name: d.Name, Words: d.Product}
		if d.IsUSB {
			ports[i].Identity = Identity{Vendor: d.VID, Product: d.PID, Serial: d.SerialNumber}
		}
	}
	return ports, nil
}
