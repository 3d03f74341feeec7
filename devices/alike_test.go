package devices

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"go.bug.st/serial"
)

// An adapter with a serial number is the same gauge in any socket; alike adapters are told apart by their sockets, or
// not at all. (Definition.)
func TestFindAmongAlikeAdapters(t *testing.T) {
	same, numbered := adapter(""), adapter("A1")
	one := PortInfo{Name: "/dev/a", Identity: same, Socket: "usb-1"}
	two := PortInfo{Name: "/dev/b", Identity: same, Socket: "usb-2"}
	own := PortInfo{Name: "/dev/c", Identity: numbered, Socket: "usb-3"}
	for _, c := range []struct {
		name   string
		ports  []PortInfo
		want   Identity
		socket string
		others []string
		rivals []Identity
		port   string
		kind   Kind
	}{
		{"numbered, in another socket", []PortInfo{one, own}, numbered, "usb-9", nil, nil, "/dev/c", 0},
		{"alone, moved to another socket", []PortInfo{two}, same, "usb-1", nil, nil, "/dev/b", 0},
		{"two alike, one with its socket", []PortInfo{one, two}, same, "usb-2", nil, nil, "/dev/b", 0},
		{"two alike, none with its socket", []PortInfo{one, two}, same, "usb-9", nil, nil, "", Alike},
		{"two alike, no socket known", []PortInfo{one, two}, same, "", nil, nil, "", Alike},
		{"the other's adapter alone is not taken", []PortInfo{two}, same, "usb-1", []string{"usb-2"}, nil, "", Missing},
		{"in the other's socket alone is not taken", []PortInfo{two}, same, "", []string{"usb-2"}, nil, "", Missing},
		{"what the other does not have", []PortInfo{one, two}, same, "", []string{"usb-2"}, nil, "/dev/a", 0},
		{"without a number, beside a numbered one", []PortInfo{own, one}, same, "", nil, []Identity{numbered}, "/dev/a", 0},
	} {
		port, err := find(c.ports, c.want, c.socket, c.others, c.rivals)
		if port != c.port || (err != nil) != (c.kind != 0) || err != nil && kindOfError(t, err) != c.kind {
			t.Errorf("%s: %q, %v", c.name, port, err)
		}
	}
}

// Two gauges with alike adapters keep to their sockets through unplugging; one whose socket is empty waits, whatever else
// is plugged in.
func TestAlikeGaugesAreNeverSwapped(t *testing.T) {
	t.Parallel()
	a, b := newSocket(t), newSocket(t)
	id := adapter("")
	var mu sync.Mutex
	ports := []PortInfo{{Name: a.path, Identity: id, Socket: "usb-1"}, {Name: b.path, Identity: id, Socket: "usb-2"}}
	list := func() ([]PortInfo, error) {
		mu.Lock()
		defer mu.Unlock()
		return append([]PortInfo(nil), ports...), nil
	}
	d := builtin(t, "signed decimal with unit")
	s := run(t, Options{List: list},
		Gauge{ID: "one", Name: "one", Identity: id, Socket: "usb-1", Decoder: d, Capture: CaptureKey},
		Gauge{ID: "two", Name: "two", Identity: id, Socket: "usb-2", Decoder: d, Capture: CaptureKey})
	standing(t, s.Supervisor)
	got := func(gauge string) string { return strings.Join(s.numbers(gauge), " ") }
	a.send("+0.100mm\r\n")
	b.send("+0.200mm\r\n")
	eventually(t, "both are read", func() bool { return got("one") == "+0.100" && got("two") == "+0.200" })
	mu.Lock()
	ports = ports[1:] // the first is pulled: the second, alike, stays what it is
	mu.Unlock()
	a.unplug()
	eventually(t, "the first is missed", func() bool { return s.state("one") == StateUnplugged })
	b.send("+0.300mm\r\n")
	eventually(t, "the second is read on", func() bool { return got("two") == "+0.200 +0.300" })
	if got("one") != "+0.100" {
		t.Errorf("the first gauge was read from the second's adapter: %s", got("one"))
	}
}

// Two gauges change places under their ports' names just when they are looked for: neither is ever read as the other, and
// each is found under its new name.
func TestPortsThatChangeNamesAreNotTakenForOneAnother(t *testing.T) {
	t.Parallel()
	a, b := newSocket(t), newSocket(t)
	ids := []Identity{adapter("S1"), adapter("S2")}
	var mu sync.Mutex
	asked := 0
	list := func() ([]PortInfo, error) { // the first answer is from before they changed places
		mu.Lock()
		defer mu.Unlock()
		asked++
		swap := min(1, asked-1)
		return []PortInfo{{Name: a.slave.Name(), Identity: ids[swap]}, {Name: b.slave.Name(), Identity: ids[1-swap]}}, nil
	}
	d := builtin(t, "signed decimal with unit")
	s := run(t, Options{List: list},
		Gauge{ID: "one", Identity: ids[0], Decoder: d, Capture: CaptureKey}, Gauge{ID: "two", Identity: ids[1], Decoder: d, Capture: CaptureKey})
	eventually(t, "each is open under its new name", func() bool {
		one, two := s.watch("one").now(), s.watch("two").now()
		return one.State == StateWaiting && one.Port == b.slave.Name() && two.State == StateWaiting && two.Port == a.slave.Name() &&
			s.link("one").proven.Load() && s.link("two").proven.Load()
	})
	b.send("+0.100mm\r\n")
	a.send("+0.200mm\r\n")
	eventually(t, "both are read", func() bool {
		return strings.Join(s.numbers("one"), " ") == "+0.100" && strings.Join(s.numbers("two"), " ") == "+0.200"
	})
	for _, g := range []string{"one", "two"} {
		if h := s.watch(g).now(); h.Reconnections != 0 {
			t.Errorf("%s was read under the other's name: %+v", g, h)
		}
	}
}

func TestSocketsOfPorts(t *testing.T) {
	dir := t.TempDir()
	port := filepath.Join(dir, "ttyUSB0")
	if err := os.WriteFile(port, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(dir, "by-path")
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"pci-0000:00:14.0-usbv2-0:2:1.0-port0", "pci-0000:00:14.0-usb-0:2:1.0-port0"} {
		if err := os.Symlink("../ttyUSB0", filepath.Join(folder, name)); err != nil {
			t.Fatal(err)
		}
	}
	real, err := filepath.EvalSymlinks(port)
	if err != nil {
		t.Fatal(err)
	}
	if got := socketsIn(folder); len(got) != 1 || got[real] != "pci-0000:00:14.0-usb-0:2:1.0-port0" {
		t.Errorf("sockets %v", got)
	}
	if got := socketsIn(filepath.Join(dir, "none")); len(got) != 0 {
		t.Errorf("without a folder: %v", got)
	}
}

func TestWhichSends(t *testing.T) {
	t.Parallel()
	a, b := newSocket(t), newSocket(t)
	line := builtin(t, "signed decimal with unit").Line
	b.ready("+0.100mm\r\n")
	if name, err := WhichSends(context.Background(), nil, []string{a.path, b.path}, line, patience); err != nil || name != b.path {
		t.Errorf("%q, %v; want %q", name, err, b.path)
	}
	if name, err := WhichSends(context.Background(), nil, []string{a.path, b.path}, line, 50*time.Millisecond); err != nil || name != "" {
		t.Errorf("nobody sent: %q, %v", name, err)
	}
	if _, err := WhichSends(context.Background(), nil, []string{a.path + "-none"}, line, time.Second); kindOfError(t, err) != Missing {
		t.Errorf("a missing port: %v", err)
	}
	held, err := openPort(serial.Open, a.path, line)
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	b.ready("+0.200mm\r\n")
	if name, err := WhichSends(context.Background(), nil, []string{a.path, b.path}, line, patience); err != nil || name != b.path {
		t.Errorf("beside a busy port: %q, %v; want %q", name, err, b.path)
	}
	_, err = WhichSends(context.Background(), nil, []string{a.path, b.path}, line, 50*time.Millisecond)
	if kindOfError(t, err) != Busy || !strings.Contains(err.Error(), a.path+": the port is in use") || !strings.Contains(err.Error(), "none sent anything") {
		t.Errorf("a busy port and a silent one: %v", err)
	}
}
