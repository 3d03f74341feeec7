// Package binding says which gauge is on which port: what of its adapter a gauge is known by.
package binding

import (
	"strings"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
)

// Identity is a gauge's identity as its adapter gives it.
func Identity(g batch.Gauge) devices.Identity {
	return devices.Identity{Vendor: g.USBVendor, Product: g.USBProduct, Serial: g.USBSerial}
}

// Gauges names the gauges that a port belongs to. A gauge that could as well be on another of the ports, because their
// adapters are alike, is named with a question mark.
func Gauges(port devices.PortInfo, ports []devices.PortInfo, gauges []batch.Gauge) []string {
	var names []string
	for _, g := range gauges {
		switch {
		case !g.RetiredAt.IsZero():
		case g.USBVendor == "" && g.Path != "" && g.Path == port.Name:
			names = append(names, g.Name)
		case g.USBVendor != "":
			alike := devices.Alikes(ports, Identity(g))
			for _, p := range alike {
				if p.Name != port.Name {
					continue
				}
				if len(alike) == 1 || g.USBSocket != "" && g.USBSocket == p.Socket {
					names = append(names, g.Name)
				} else if g.USBSocket == "" || !socketSeen(alike, g.USBSocket) {
					names = append(names, g.Name+" (?)")
				}
			}
		}
	}
	return names
}

func socketSeen(ports []devices.PortInfo, socket string) bool {
	for _, p := range ports {
		if p.Socket == socket {
			return true
		}
	}
	return false
}

// Entry makes a new gauge's entry of the port that it is on and of what fits its frames: its adapter's identity, with
// the socket where others of the ports are alike, its decoder and its resolution. Its name and what it measures are left
// to a person.
func Entry(port devices.PortInfo, ports []devices.PortInfo, f devices.Fit) (batch.Gauge, error) {
	g := batch.Gauge{Decoder: f.Decoder.Name, Sense: 1, Capture: "key", ResolutionMM: f.ResolutionMM, ZeroLimitMM: 0.01, CheckHours: 12, EachShift: true}
	if f.Streams {
		g.Capture = "stream"
	}
	if f.Line != f.Decoder.Line {
		text, err := decode.WithLine(f.Decoder.Name, f.Line)
		if err != nil {
			return g, err
		}
		g.Decoder = string(text)
	}
	Bind(&g, port, ports)
	return g, nil
}

// Bind gives a gauge the identity of a port's adapter.
func Bind(g *batch.Gauge, port devices.PortInfo, ports []devices.PortInfo) {
	g.USBVendor, g.USBProduct, g.USBSerial = strings.ToLower(port.Identity.Vendor), strings.ToLower(port.Identity.Product), port.Identity.Serial
	g.USBSocket, g.Path = "", ""
	switch {
	case port.Identity.IsZero():
		g.Path = port.Name
	case port.Identity.Serial == "" || len(devices.Alikes(ports, port.Identity)) > 1:
		g.USBSocket = port.Socket
	}
}
