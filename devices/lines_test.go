package devices

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"sagitta/devices/decode"
)

// capture reads a recorded capture.
func capture(t *testing.T, file string) *decode.Capture {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c, err := decode.ReadCapture(file, f)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// cleanFrames gives two different frames with numbers of each built-in decoder, from its clean capture; a decoder
// without one fails.
func cleanFrames(t *testing.T) map[string][2]decode.Event {
	t.Helper()
	files, err := filepath.Glob("../testdata/captures/*.capture")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string][2]decode.Event{}
	for _, file := range files {
		c := capture(t, file)
		d, err := decode.Find(c.Header[1][1])
		if err != nil {
			continue // one with a decoder of its own
		}
		var two []decode.Event
		for _, e := range c.Decode(d) {
			if e.Value == nil {
				two = nil
				break
			}
			if e.Value.IsNumber() && (len(two) == 0 || string(e.Raw) != string(two[0].Raw)) {
				two = append(two, e)
			}
		}
		if len(two) >= 2 {
			all[d.Name] = [2]decode.Event{two[0], two[1]}
		}
	}
	for _, d := range decode.Builtin() {
		if _, ok := all[d.Name]; !ok {
			t.Fatalf("%s: no clean capture with two different numbers", d.Name)
		}
	}
	return all
}

// TestUnpluggedAtEveryByte pulls every decoder's gauge after each byte of a frame and plugs it in again under another
// name: the beginning is a fault, never a number, and the next frame is read whole.
func TestUnpluggedAtEveryByte(t *testing.T) {
	t.Parallel()
	frames := cleanFrames(t)
	for _, d := range decode.Builtin() {
		t.Run(d.Name, func(t *testing.T) {
			t.Parallel()
			first, second := frames[d.Name][0], frames[d.Name][1]
			var mu sync.Mutex
			sockets := map[string]*socket{}
			list := func() (ports []PortInfo, err error) {
				mu.Lock()
				defer mu.Unlock()
				for id, s := range sockets {
					s.mu.Lock()
					if s.master != nil {
						ports = append(ports, PortInfo{Name: s.slave.Name(), Identity: adapter(id)})
					}
					s.mu.Unlock()
				}
				return ports, nil
			}
			var gauges []Gauge
			for i := range first.Raw {
				id := fmt.Sprint(i)
				mu.Lock()
				sockets[id] = newSocket(t)
				mu.Unlock()
				gauges = append(gauges, Gauge{ID: id, Identity: adapter(id), Decoder: d, Capture: CaptureKey})
			}
			b := run(t, Options{List: list}, gauges...)
			quiet := func() {
				for id := range sockets {
					eventually(t, "a quiet port", func() bool { return b.link(id).proven.Load() })
				}
			}
			quiet()
			for _, g := range gauges {
				sockets[g.ID].send(string(first.Raw))
			}
			for _, g := range gauges {
				eventually(t, "the first reading", func() bool { return len(b.numbers(g.ID)) == 1 })
			}
			for i, g := range gauges {
				sockets[g.ID].send(string(second.Raw[:min(i, len(second.Raw)-1)]))
			}
			for i, g := range gauges {
				eventually(t, "the beginning", func() bool { return b.received(g.ID) == len(first.Raw)+min(i, len(second.Raw)-1) })
				sockets[g.ID].unplug()
			}
			for _, g := range gauges {
				eventually(t, "unplugged", func() bool { return b.state(g.ID) == StateUnplugged })
				b.link(g.ID).proven.Store(false) // so that quiet waits for the next opening's
			}
			names := map[string]string{}
			for _, h := range b.Health() {
				names[h.Gauge] = h.Port
			}
			for _, g := range gauges {
				sockets[g.ID].plugNot(names[g.ID])
			}
			quiet()
			for _, g := range gauges {
				sockets[g.ID].send(string(second.Raw))
			}
			for i, g := range gauges {
				eventually(t, "the second reading", func() bool { return len(b.numbers(g.ID)) >= 2 })
				if got := b.numbers(g.ID); strings.Join(got, " ") != first.Value.Digits+" "+second.Value.Digits {
					t.Errorf("pulled after %d bytes: %q", i, got)
				}
				h := b.watch(g.ID).now()
				if want := uint64(min(i, 1)); h.Refused != want || h.Reconnections != 1 {
					t.Errorf("pulled after %d bytes: %d refused, %d reconnections", i, h.Refused, h.Reconnections)
				}
				if h.Port == names[g.ID] {
					t.Errorf("pulled after %d bytes: found again under the same name %s", i, h.Port)
				}
			}
		})
	}
}
