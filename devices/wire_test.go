package devices

import (
	"io/fs"
	"slices"
	"sync"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"go.bug.st/serial"

	"sagitta/testdata/usb"
)

// adapter is the identity of an invented adapter with a serial number.
func adapter(serial string) Identity {
	return Identity{Vendor: usb.Vendor, Product: usb.Product, Serial: serial}
}

// wire is a serial line in memory: a port to the program, the gauge's end to the test. Nothing about it waits for anything
// but channels and time, so that in a bubble of testing/synctest time passes only while all stand still.
type wire struct {
	t    *testing.T
	name string
	mu   sync.Mutex
	now  *plugging // nil while unplugged
}

// plugging is a wire from being plugged in to being unplugged.
type plugging struct {
	toProgram, toGauge chan []byte
	gone               chan struct{}
}

func newWire(t *testing.T, name string) *wire {
	w := &wire{t: t, name: t.Name() + " " + name}
	w.plug()
	return w
}

func (w *wire) plug() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = &plugging{toProgram: make(chan []byte, 100), toGauge: make(chan []byte, 100), gone: make(chan struct{})}
}

func (w *wire) unplug() {
	w.mu.Lock()
	defer w.mu.Unlock()
	close(w.now.gone)
	w.now = nil
}

// plugged is the plugging of now, nil while there is none.
func (w *wire) plugged() *plugging {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

func (w *wire) send(text string) { w.plugged().toProgram <- []byte(text) }

// asked waits for what the gauge is sent.
func (w *wire) asked(want string) {
	w.t.Helper()
	if got := string(<-w.plugged().toGauge); got != want {
		w.t.Fatalf("the gauge was sent %q, want %q", got, want)
	}
}

// answers has something answer what the gauge is sent, until it is unplugged; "" is no answer.
func (w *wire) answers(to func(asked string) string) {
	p := w.plugged()
	go func() {
		for {
			select {
			case asked := <-p.toGauge:
				if answer := to(string(asked)); answer != "" {
					p.toProgram <- []byte(answer)
				}
			case <-p.gone:
				return
			}
		}
	}()
	w.t.Cleanup(func() {
		if w.plugged() == p {
			w.unplug()
		}
	})
}

// wired opens the ports of some wires; no other is there.
func wired(wires ...*wire) Opener {
	return func(name string, _ *serial.Mode) (serial.Port, error) {
		for _, w := range wires {
			if p := w.plugged(); w.name == name && p != nil {
				return &wirePort{plugging: p}, nil
			}
		}
		return nil, fs.ErrNotExist
	}
}

// wirePort is the program's end of a wire.
type wirePort struct {
	serial.Port // for what no test of a wire calls
	*plugging
	rest []byte // of what came
	wait time.Duration
}

func (p *wirePort) SetReadTimeout(wait time.Duration) error { p.wait = wait; return nil }
func (p *wirePort) ResetOutputBuffer() error                { return nil }
func (p *wirePort) Close() error                            { return nil }

func (p *wirePort) GetModemStatusBits() (*serial.ModemStatusBits, error) { return nil, syscall.ENOTTY }

func (p *wirePort) Read(b []byte) (int, error) {
	if len(p.rest) == 0 {
		select {
		case p.rest = <-p.toProgram:
		case <-p.gone:
			return 0, syscall.EIO
		case <-time.After(p.wait):
			return 0, nil
		}
	}
	n := copy(b, p.rest)
	p.rest = p.rest[n:]
	return n, nil
}

func (p *wirePort) Write(b []byte) (int, error) {
	select {
	case <-p.gone:
		return 0, syscall.EIO
	case p.toGauge <- slices.Clone(b):
		return len(b), nil
	}
}

// inBubble runs a test whose time is its own: it passes at once while everything waits, however slow the machine is.
func inBubble(t *testing.T, test func(t *testing.T)) {
	t.Helper()
	t.Parallel()
	synctest.Test(t, test)
}

// pass lets time pass in a bubble, and all be done that is due by then.
func pass(d time.Duration) {
	time.Sleep(d)
	synctest.Wait()
}
