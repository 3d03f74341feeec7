package devices

import (
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"go.bug.st/serial"
)

// bulbs note what the outgoing modem lines of every port of a wire were set to.
type bulbs struct {
	mu       sync.Mutex
	rts, dtr bool
	fails    error // what setting a line gives
	sets     int
}

// bulbPort is a wire's port with modem lines that can be set.
type bulbPort struct {
	serial.Port
	bulbs *bulbs
}

func (b *bulbs) set(line *bool, level bool) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.sets++
	if b.fails == nil {
		*line = level
	}
	return b.fails
}

func (b *bulbs) fail(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fails = err
}

// shows are the colours that are lit.
func (b *bulbs) shows() (lit []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.rts {
		lit = append(lit, "green")
	}
	if b.dtr {
		lit = append(lit, "red")
	}
	return lit
}

func (p bulbPort) SetRTS(level bool) error { return p.bulbs.set(&p.bulbs.rts, level) }
func (p bulbPort) SetDTR(level bool) error { return p.bulbs.set(&p.bulbs.dtr, level) }

func (b *bulbs) on(w *wire) Opener {
	return func(name string, mode *serial.Mode) (serial.Port, error) {
		port, err := wired(w)(name, mode)
		b.mu.Lock()
		b.rts, b.dtr = true, true // as most systems open a port
		b.mu.Unlock()
		return bulbPort{port, b}, err
	}
}

// TestLamp lights each colour, goes dark as soon as it is open, and sets nothing while nothing changes. A port that cannot set its lines
// says so and is tried again.
func TestLamp(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w, lamp := newWire(t, "lamp"), &bulbs{}
		b := run(t, Options{Open: lamp.on(w)}, Gauge{ID: "lamp", Name: "lamp", Path: w.name, Capture: CaptureLamp})
		for _, c := range []struct {
			light Light
			want  []string
		}{{Dark, nil}, {Green, []string{"green"}}, {Red, []string{"red"}}, {Amber, []string{"green", "red"}}, {Dark, nil}} {
			b.Shine(c.light)
			pass(time.Second)
			if got := lamp.shows(); !slices.Equal(got, c.want) {
				t.Errorf("light %d: shows %q, want %q", c.light, got, c.want)
			}
		}
		before := lamp.sets
		pass(10 * time.Second)
		if lamp.sets != before {
			t.Errorf("its lines were set %d times more", lamp.sets-before)
		}
		lamp.fail(syscall.ENOTTY)
		b.Shine(Red)
		pass(2 * time.Second)
		if h := b.Health()[0]; !strings.Contains(h.FootSwitch, "The lamp cannot be lit") {
			t.Errorf("health %+v", h)
		}
		lamp.fail(nil)
		pass(2 * time.Second)
		if got, h := lamp.shows(), b.Health()[0]; !slices.Equal(got, []string{"red"}) || h.FootSwitch != "" {
			t.Errorf("mended it shows %q, health %+v", got, h)
		}
		synctest.Wait()
	})
}

// TestLampHasItsPortForItself: no gauge and no foot switch goes with it.
func TestLampHasItsPortForItself(t *testing.T) {
	lamp := Gauge{ID: "lamp", Path: "/dev/a", Capture: CaptureLamp}
	other := keyGauge(t, "/dev/a")
	if _, err := New([]Gauge{other, lamp}, Options{}); err == nil || !strings.Contains(err.Error(), "has its port for itself") {
		t.Errorf("with a gauge: %v", err)
	}
	lamp.FootSwitch = LineCTS
	if _, err := New([]Gauge{lamp}, Options{}); err == nil || !strings.Contains(err.Error(), "give the foot switch to another port") {
		t.Errorf("with a foot switch: %v", err)
	}
}
