package devices

import (
	"slices"
	"time"

	"go.bug.st/serial"
)

// The modem lines that a foot switch may be wired to. Its contact closes when it is stepped on and then joins the line
// to one that the computer holds asserted, DTR or RTS; at rest the line is open.
const (
	LineCTS = "CTS"
	LineDSR = "DSR"
)

const (
	// lookEvery is the least time between two looks at a port's modem lines.
	lookEvery = 10 * time.Millisecond
	// contactStill is how long a level must stand before it counts: contacts bounce for some milliseconds (common
	// practice, no source).
	contactStill = 30 * time.Millisecond
	// lookAgain is how soon a port whose modem lines could not be read is looked at again.
	lookAgain = time.Second
	// longPress is how long a foot must stay down to mean undo: this program's choice, well above a tap.
	longPress = 800 * time.Millisecond
)

// FootPress is one press of a foot switch. A short one is told when the foot comes up again, a long one after 800 ms
// while it is still down.
type FootPress struct {
	Gauge string    // the gauge whose port the switch is wired to, or the switch's own ID
	At    time.Time // when it was known
	Long  bool
}

// footSwitch is one modem line with a foot switch. Its link's goroutine alone uses it.
type footSwitch struct {
	gauge string
	line  string
	contact
}

// contact tells presses from the levels of a bouncing contact.
type contact struct {
	begun bool      // a level has been seen
	level bool      // the last one seen
	since time.Time // when it was first seen
	ready bool      // it was seen open: a line that is asserted from the beginning is no foot
	down  bool      // stepped on
	from  time.Time // since when
	spent bool      // this press was told
}

// press is what a look at a contact says.
type press int

const (
	noPress press = iota
	shortPress
	heldPress
)

// see takes the level found at a time; times do not fall. A press of which so little was seen that nobody can say
// whether it was short or long (the program was away for longer than a long press takes) is none.
func (c *contact) see(at time.Time, closed bool) press {
	if !c.begun || c.level != closed {
		c.begun, c.level, c.since = true, closed, at
	}
	still := at.Sub(c.since) >= contactStill
	switch {
	case still && !c.level:
		told := shortPress
		if !c.down || c.spent || c.since.Sub(c.from) >= longPress {
			told = noPress
		}
		c.ready, c.down = true, false
		return told
	case still && c.ready && !c.down:
		c.down, c.from, c.spent = true, c.since, false
	}
	if c.down && c.level && !c.spent && at.Sub(c.from) >= longPress {
		c.spent = true
		return heldPress
	}
	return noPress
}

// wire adds a gauge's foot switch to its port. Gauges that share a port may name the same line: it is one switch.
func (l *link) wire(g Gauge) {
	if g.FootSwitch != "" && !slices.ContainsFunc(l.switches, func(f *footSwitch) bool { return f.line == g.FootSwitch }) {
		l.switches = append(l.switches, &footSwitch{gauge: g.ID, line: g.FootSwitch})
	}
}

// look looks at the port's foot switches, where some time has passed since the last look. Where the port does not say how
// its lines stand it is asked again every second: one disturbed answer is no reason to give a foot switch up, and a port
// that never can costs little.
func (s *session) look(now time.Time) {
	wait := lookEvery
	if s.blind {
		wait = lookAgain
	}
	if len(s.switches) == 0 || !s.looked.IsZero() && now.Sub(s.looked) < wait {
		return
	}
	first := s.looked.IsZero() || s.blind
	s.looked = now
	bits, err := s.port.modem()
	if s.blind = err != nil; s.blind {
		s.footless("Its foot switch cannot be read: this port does not say how its modem lines stand. It is tried again every second; if that " +
			"lasts, wire the switch to an adapter with CTS and DSR, or use one that types a key.")
		return
	}
	if first { // nobody saw what the foot did before
		s.footless("")
		for _, f := range s.switches {
			f.contact = contact{}
		}
	}
	for _, f := range s.switches {
		if told := f.see(now, f.closed(bits)); told != noPress {
			s.s.opt.OnFootPress(FootPress{Gauge: f.gauge, At: now, Long: told == heldPress})
		}
	}
}

// closed reads the switch's line.
func (f *footSwitch) closed(bits *serial.ModemStatusBits) bool {
	if f.line == LineDSR {
		return bits.DSR
	}
	return bits.CTS
}

// footless notes why the port's foot switches cannot be read, "" that they can.
func (s *session) footless(why string) {
	for _, w := range s.gauges {
		if w.gauge.FootSwitch != "" {
			w.footless(why, s.s.opt.OnHealth)
		}
	}
}
