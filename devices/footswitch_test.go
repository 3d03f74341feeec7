package devices

import (
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
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

// pedals are the modem lines of every port of a wire, which the test sets.
type pedals struct {
	mu    sync.Mutex
	bits  serial.ModemStatusBits
	fails error // what a look gives instead
	looks int
}

// pedalPort is a wire's port with modem lines.
type pedalPort struct {
	serial.Port
	pedals *pedals
}

func (p *pedals) set(bits serial.ModemStatusBits, fails error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.bits, p.fails = bits, fails
}

// hold sets the level of CTS for a while.
func (p *pedals) hold(down bool, lasting time.Duration) {
	p.set(serial.ModemStatusBits{CTS: down, DSR: true}, nil) // DSR is the gauge's own business
	pass(lasting)
}

// tap is a short press.
func (p *pedals) tap() {
	p.hold(false, 100*time.Millisecond)
	p.hold(true, 200*time.Millisecond)
	p.hold(false, 100*time.Millisecond)
}

func (p *pedals) on(w *wire) Opener {
	return func(name string, mode *serial.Mode) (serial.Port, error) {
		port, err := wired(w)(name, mode)
		return pedalPort{port, p}, err
	}
}

func (p pedalPort) GetModemStatusBits() (*serial.ModemStatusBits, error) {
	p.pedals.mu.Lock()
	defer p.pedals.mu.Unlock()
	p.pedals.looks++
	bits := p.pedals.bits
	return &bits, p.pedals.fails
}

func TestFootSwitchOnAPortsModemLine(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w, lines := newWire(t, "gauge"), &pedals{}
		g := keyGauge(t, w.name)
		g.FootSwitch = LineCTS
		began := time.Now()
		b := run(t, Options{Open: lines.on(w)}, g)
		lines.tap()
		if len(b.presses()) != 1 || b.presses()[0].Long || b.presses()[0].Gauge != "height" {
			t.Errorf("after a tap: %+v", b.presses())
		}
		lines.hold(true, longPress-contactStill)
		if len(b.presses()) != 1 {
			t.Errorf("before a press was long: %+v", b.presses())
		}
		lines.hold(true, 2*contactStill)
		if len(b.presses()) != 2 || !b.presses()[1].Long {
			t.Errorf("after a long press, still down: %+v", b.presses())
		}
		lines.hold(false, time.Second)
		w.send("+1.950mm\r\n")
		synctest.Wait()
		if got := b.numbers("height"); len(got) != 1 || b.Health()[0].FootSwitch != "" {
			t.Errorf("the gauge's own readings %q, health %+v", got, b.Health()[0])
		}
		b.stop()
		if most := int(time.Since(began)/lookEvery) + 1; lines.looks > most {
			t.Errorf("looked %d times, at most %d are allowed", lines.looks, most)
		}
		if len(b.presses()) != 2 {
			t.Errorf("presses %+v", b.presses())
		}
	})
}

// A foot switch alone on an adapter is found by its USB identity and again after it was unplugged; a look that fails is
// told and made again; no byte is taken for a reading; a press before the next opening is none of the new one's.
func TestFootSwitchOnAPortOfItsOwn(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w, lines, id := newWire(t, "adapter"), &pedals{}, adapter("QM-F")
		list := func() (ports []PortInfo, err error) {
			if w.plugged() != nil {
				ports = append(ports, PortInfo{Name: w.name, Identity: id})
			}
			return ports, nil
		}
		b := run(t, Options{Open: lines.on(w), List: list},
			Gauge{ID: "foot", Name: "foot switch", Identity: id, Capture: CaptureFoot, FootSwitch: LineCTS})
		lines.tap()
		w.send("+1.950mm\r\nnoise\r\n")

		lines.set(serial.ModemStatusBits{}, errors.New("the adapter did not answer"))
		if pass(time.Second); b.Health()[0].FootSwitch == "" {
			t.Error("a look that fails is not told")
		}
		lines.set(serial.ModemStatusBits{}, nil)
		if pass(2 * lookAgain); b.Health()[0].FootSwitch != "" {
			t.Errorf("a look that does not fail: %s", b.Health()[0].FootSwitch)
		}
		lines.tap()
		if len(b.presses()) != 2 {
			t.Errorf("presses %+v", b.presses())
		}

		lines.hold(true, 100*time.Millisecond) // pulled with the foot on it
		w.unplug()
		pass(time.Second)
		if h := b.Health()[0]; h.State != StateUnplugged || strings.Contains(h.ToDo, "check") {
			t.Errorf("health %+v", h)
		}
		w.plug()
		pass(time.Second)
		if h := b.Health()[0]; h.Reconnections != 1 {
			t.Errorf("health %+v", h)
		}
		lines.hold(false, 100*time.Millisecond)
		lines.tap()
		if len(b.presses()) != 3 {
			t.Errorf("presses %+v", b.presses())
		}
		for _, p := range b.presses() {
			if p.Gauge != "foot" || p.Long {
				t.Errorf("press %+v", p)
			}
		}
		if len(b.read()) != 0 || len(b.refused()) != 0 {
			t.Errorf("readings %+v, faults %+v", b.read(), b.refused())
		}
	})
}

func TestNewRefusesFootSwitchesThatCannotWork(t *testing.T) {
	t.Parallel()
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
