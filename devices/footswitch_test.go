package devices

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.bug.st/serial"
)

// trace looks at a contact every 10 ms; levels are pairs of a level and how long it stands.
func trace(c *contact, at *time.Time, level bool, lasting time.Duration) (told []press) {
	for end := at.Add(lasting); at.Before(end); *at = at.Add(lookEvery) {
		if p := c.see(*at, level); p != noPress {
			told = append(told, p)
		}
	}
	return told
}

func TestContactTellsShortFromLongAndIgnoresBounce(t *testing.T) {
	t.Parallel()
	const ms = time.Millisecond
	type stretch struct {
		closed  bool
		lasting time.Duration
	}
	open := stretch{false, 200 * ms}
	for _, c := range []struct {
		what   string
		levels []stretch
		want   []press
	}{
		{"a tap", []stretch{open, {true, 120 * ms}, open}, []press{shortPress}},
		{"two taps", []stretch{open, {true, 120 * ms}, open, {true, 60 * ms}, open}, []press{shortPress, shortPress}},
		{"a bouncing tap", []stretch{open, {true, 10 * ms}, {false, 10 * ms}, {true, 10 * ms}, {false, 10 * ms}, {true, 150 * ms},
			{false, 10 * ms}, {true, 20 * ms}, open}, []press{shortPress}},
		{"a spike of 20 ms", []stretch{open, {true, 20 * ms}, open}, nil},
		{"a long press tells once, while it is down", []stretch{open, {true, 3 * time.Second}}, []press{heldPress}},
		{"a long press tells nothing when it ends", []stretch{open, {true, 900 * ms}, open, {true, 100 * ms}, open}, []press{heldPress, shortPress}},
		{"just under a long press", []stretch{open, {true, 780 * ms}, open}, []press{shortPress}},
		{"a line asserted from the beginning is no foot", []stretch{{true, 5 * time.Second}}, nil},
		{"nor is its first opening", []stretch{{true, 2 * time.Second}, open, {true, 100 * ms}, open}, []press{shortPress}},
	} {
		contact, at := contact{}, time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC)
		var got []press
		for _, s := range c.levels {
			got = append(got, trace(&contact, &at, s.closed, s.lasting)...)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

func TestContactSaysNothingOfWhatWasNotSeen(t *testing.T) {
	t.Parallel()
	contact, at := contact{}, time.Date(2026, 11, 2, 7, 0, 0, 0, time.UTC)
	trace(&contact, &at, false, 100*time.Millisecond)
	trace(&contact, &at, true, 60*time.Millisecond)
	at = at.Add(3 * time.Second) // the program was away: the foot may have come up at any time
	if got := trace(&contact, &at, false, 200*time.Millisecond); got != nil {
		t.Errorf("told %v", got)
	}
}

// pedalPort is a port whose modem lines the test sets; a pseudo-terminal has none.
type pedalPort struct {
	serial.Port
	pedals *pedals
}

// pedals are the modem lines of every port that was opened with them.
type pedals struct {
	mu    sync.Mutex
	bits  serial.ModemStatusBits
	fails error // what a look gives instead
	looks int
}

func (p *pedals) set(bits serial.ModemStatusBits) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.bits = bits
}

func (p *pedals) open(name string, mode *serial.Mode) (serial.Port, error) {
	port, err := serial.Open(name, mode)
	if err != nil {
		return nil, err
	}
	return pedalPort{port, p}, nil
}

func (p pedalPort) GetModemStatusBits() (*serial.ModemStatusBits, error) {
	p.pedals.mu.Lock()
	defer p.pedals.mu.Unlock()
	p.pedals.looks++
	bits := p.pedals.bits
	return &bits, p.pedals.fails
}

func TestFootSwitchOnAPortsModemLine(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	lines := &pedals{bits: serial.ModemStatusBits{DSR: true}} // DSR is the gauge's own business
	var mu sync.Mutex
	var presses []FootPress
	g := keyGauge(t, s.path)
	g.FootSwitch = LineCTS
	var c clock
	ticking := func() time.Time { c.move(lookEvery / 4); return c.now() } // a machine that stands still makes no short press long
	began := c.now()
	b := run(t, Options{Open: lines.open, Now: ticking, OnFootPress: func(p FootPress) { mu.Lock(); presses = append(presses, p); mu.Unlock() }}, g)
	eventually(t, "waiting", func() bool { return b.state("height") == StateWaiting })
	told := func() []bool {
		mu.Lock()
		defer mu.Unlock()
		var long []bool
		for _, p := range presses {
			long = append(long, p.Long)
			if p.Gauge != "height" {
				t.Errorf("press %+v", p)
			}
		}
		return long
	}
	seen := func(level serial.ModemStatusBits) { // long enough to count
		lines.set(level)
		lines.mu.Lock()
		from := lines.looks
		lines.mu.Unlock()
		eventually(t, "looks", func() bool { lines.mu.Lock(); defer lines.mu.Unlock(); return lines.looks >= from+8 })
	}
	seen(serial.ModemStatusBits{DSR: true})
	seen(serial.ModemStatusBits{DSR: true, CTS: true})
	seen(serial.ModemStatusBits{DSR: true})
	eventually(t, "a short press", func() bool { return slices.Equal(told(), []bool{false}) })
	lines.set(serial.ModemStatusBits{CTS: true})
	eventually(t, "a long press", func() bool { return slices.Equal(told(), []bool{false, true}) })
	lines.set(serial.ModemStatusBits{})
	s.send("+1.950mm\r\n")
	eventually(t, "the gauge's own reading", func() bool { return len(b.numbers("height")) == 1 })
	if h := b.Health()[0]; h.FootSwitch != "" {
		t.Errorf("health says %q", h.FootSwitch)
	}
	b.stop()
	if most := int(c.now().Sub(began)/lookEvery) + 1; lines.looks > most {
		t.Errorf("looked %d times, at most %d are allowed", lines.looks, most)
	}
	if got := told(); len(got) != 2 {
		t.Errorf("presses %v", got)
	}
}

// A foot switch alone on an adapter is found by its USB identity and again after it was unplugged; a look that fails is
// told and made again; no byte is taken for a reading; a press before the next opening is none of the new one's.
func TestFootSwitchOnAPortOfItsOwn(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	id := Identity{Vendor: "1a2b", Product: "0001", Serial: "QM-F"}
	list := func() (ports []PortInfo, err error) {
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.master != nil {
			ports = append(ports, PortInfo{Name: s.slave.Name(), Identity: id})
		}
		return ports, nil
	}
	lines := &pedals{}
	var c clock
	ticking := func() time.Time { c.move(lookEvery / 4); return c.now() }
	var mu sync.Mutex
	var presses []FootPress
	b := run(t, Options{Open: lines.open, List: list, Now: ticking, OnFootPress: func(p FootPress) { mu.Lock(); presses = append(presses, p); mu.Unlock() }},
		Gauge{ID: "foot", Name: "foot switch", Identity: id, Capture: CaptureFoot, FootSwitch: LineCTS})
	told := func() int { mu.Lock(); defer mu.Unlock(); return len(presses) }
	looks := func(n int) {
		t.Helper()
		lines.mu.Lock()
		from := lines.looks
		lines.mu.Unlock()
		eventually(t, "looks", func() bool { lines.mu.Lock(); defer lines.mu.Unlock(); return lines.looks >= from+n })
	}
	tap := func() {
		t.Helper()
		for _, down := range []bool{false, true, false} {
			lines.set(serial.ModemStatusBits{CTS: down})
			looks(8)
		}
	}
	eventually(t, "open", func() bool { return b.state("foot") == StateWaiting })
	tap()
	eventually(t, "a press", func() bool { return told() == 1 })
	s.send("+1.950mm\r\nnoise\r\n")

	lines.mu.Lock()
	lines.fails = errors.New("the adapter did not answer")
	lines.mu.Unlock()
	eventually(t, "words", func() bool { return b.watch("foot").now().FootSwitch != "" })
	lines.mu.Lock()
	lines.fails = nil
	lines.mu.Unlock()
	eventually(t, "no words", func() bool { return b.watch("foot").now().FootSwitch == "" })
	tap()
	eventually(t, "the next press", func() bool { return told() == 2 })

	lines.set(serial.ModemStatusBits{CTS: true}) // pulled with the foot on it
	s.unplug()
	eventually(t, "unplugged", func() bool { return b.state("foot") == StateUnplugged })
	if h := b.watch("foot").now(); strings.Contains(h.ToDo, "check") {
		t.Errorf("health %+v", h)
	}
	s.plug()
	eventually(t, "open again", func() bool { return b.watch("foot").now().Reconnections == 1 })
	lines.set(serial.ModemStatusBits{})
	looks(8)
	tap()
	eventually(t, "a press after all that", func() bool { return told() == 3 })
	b.stop()
	for _, p := range presses {
		if p.Gauge != "foot" || p.Long {
			t.Errorf("press %+v", p)
		}
	}
	if len(b.readings) != 0 || len(b.faults) != 0 {
		t.Errorf("readings %+v, faults %+v", b.readings, b.faults)
	}
	for _, other := range []Gauge{{ID: "foot", Path: "/dev/a", Capture: CaptureFoot}, {ID: "foot", Capture: CaptureFoot, FootSwitch: LineCTS}} {
		if _, err := New([]Gauge{other}, Options{}); err == nil {
			t.Errorf("%+v was taken", other)
		}
	}
	alone := Gauge{ID: "foot", Path: "/dev/a", Capture: CaptureFoot, FootSwitch: LineCTS}
	if _, err := New([]Gauge{keyGauge(t, "/dev/a"), alone}, Options{}); err == nil || !strings.Contains(err.Error(), "a port of its own") {
		t.Errorf("a foot switch of its own on a gauge's port: %v", err)
	}
}

func TestAPortWithoutModemLinesSaysSo(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	g := keyGauge(t, s.path)
	g.FootSwitch = LineDSR
	b := run(t, Options{}, g) // a pseudo-terminal answers ENOTTY
	eventually(t, "words", func() bool { return b.Health()[0].FootSwitch != "" })
	h := b.Health()[0]
	if !strings.Contains(h.FootSwitch, "does not say how its modem lines stand") || h.State != StateWaiting {
		t.Errorf("health %+v", h)
	}
	b.quiet(t, "height")
	s.send("+1.950mm\r\n")
	eventually(t, "the gauge is read all the same", func() bool { return len(b.numbers("height")) == 1 })
	b.went(t, "height", StateWaiting, StateWaiting, StateLive) // the foot switch is news once
}
