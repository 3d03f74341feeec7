package gauges

import (
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/station/binding"
)

// portLine is one port in the list of the page Gauges.
type portLine struct {
	devices.PortInfo
	Gauges []string // bound to it
	Alike  bool     // another port has the same identity
	Free   bool     // no gauge has it open: it can be listened to
}

// portLines lists the ports that can be seen with the gauges bound to them.
func (s *server) portLines(gauges []batch.Gauge) []portLine {
	ports := s.seen()
	lines := make([]portLine, len(ports))
	for i, p := range ports {
		lines[i] = portLine{PortInfo: p, Gauges: binding.Gauges(p, ports, gauges), Alike: len(devices.Alikes(ports, p.Identity)) > 1}
		lines[i].Free = s.opt.Lines != nil && !slices.ContainsFunc(lines[i].Gauges, func(name string) bool { return !strings.HasSuffix(name, "(?)") })
	}
	return lines
}
