// Package binding says which gauge is on which port: what of its adapter a gauge is known by.
package binding

import (
	"strings"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode/infer"
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

// Entry makes a new gauge's entry of the port that it is on and of what was learnt of its lines: its adapter's identity, with
// the socket where others of the ports are alike, its decoder with the line as heard, its resolution and how its readings come. What it is
// and measures is left to a person. name is what its decoder is called where it is made of the bytes. The error is the decoder's.
func Entry(port devices.PortInfo, ports []devices.PortInfo, h infer.Heard, g infer.Guess, c infer.Candidate, name string) (batch.Gauge, error) {
	entry := batch.Gauge{Decoder: c.Builtin, Sense: 1, Capture: devices.CaptureKey, ResolutionMM: c.StepMM(), ZeroLimitMM: 0.01, CheckHours: 12, EachShift: true}
	switch {
	case h.Request != nil:
		entry.Capture = devices.CaptureRequest
	case g.Streams:
		entry.Capture = devices.CaptureStream
	}
	if c.Builtin == "" || h.Line != c.Decoder.Line {
		text, err := c.File(name, h.Line)
		if err != nil {
			return entry, err
		}
		entry.Decoder = string(text)
	}
	Bind(&entry, port, ports)
	return entry, nil
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
