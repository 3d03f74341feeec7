package devices

import (
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
	"go.bug.st/serial"

	"sagitta/devices/decode"
	"sagitta/testdata/terminal"
)

// socket is a place where a pseudo-terminal is plugged in and out: a symlink that leads to today's name.
type socket struct {
	t      testing.TB
	path   string
	mu     sync.Mutex
	master *os.File
	slave  *os.File
}

func newSocket(t testing.TB) *socket {
	s := &socket{t: t, path: filepath.Join(t.TempDir(), "gauge")}
	t.Cleanup(s.unplug)
	s.plug()
	return s
}

// plug makes a new pseudo-terminal and links it. Its other side is kept open here until the port is opened and
// closed by the program, as a real adapter is there before anyone opens it.
func (s *socket) plug() { s.plugNot("") }

// plugNot plugs in under another name than the one given, whatever names other programs take and free meanwhile.
func (s *socket) plugNot(old string) {
	s.t.Helper()
	master, slave, err := pty.Open()
	if err != nil {
		s.t.Fatal(err)
	}
	if slave.Name() == old { // kept while the next one is made
		defer master.Close()
		defer slave.Close()
		s.plugNot(old)
		return
	}
	raw, err := serial.Open(slave.Name(), &serial.Mode{BaudRate: 9600}) // sets the raw mode, so that nothing is echoed
	if err != nil {
		s.t.Fatal(err)
	}
	raw.Close()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.master, s.slave = master, slave
	os.Remove(s.path)
	if err := os.Symlink(slave.Name(), s.path); err != nil {
		s.t.Fatal(err)
	}
}

func (s *socket) unplug() {
	s.mu.Lock()
	defer s.mu.Unlock()
	os.Remove(s.path)
	if s.master != nil {
		s.slave.Close()
		s.master.Close()
		s.master = nil
	}
}

func (s *socket) send(text string) {
	s.t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, err := s.master.WriteString(text); err != nil {
		s.t.Fatal(err)
	}
}

// ready sends and waits until all of it can be read at the other side: on a busy machine the system takes its time.
func (s *socket) ready(text string) {
	s.t.Helper()
	s.send(text)
	for end := time.Now().Add(patience); ; time.Sleep(time.Millisecond) {
		n, err := terminal.Unread(s.slave.Name())
		if err != nil || time.Now().After(end) {
			s.t.Fatalf("%d of %d bytes can be read, %v", n, len(text), err)
		}
		if n >= len(text) {
			return
		}
	}
}

// patience is how long a test waits for what must happen.
const patience = 30 * time.Second

func builtin(t testing.TB, name string) *decode.Decoder {
	t.Helper()
	d, err := decode.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// eventually waits for something that another goroutine brings about.
func eventually(t testing.TB, what string, ok func() bool) {
	t.Helper()
	for deadline := time.Now().Add(patience); time.Now().Before(deadline); time.Sleep(2 * time.Millisecond) {
		if ok() {
			return
		}
	}
	t.Fatalf("not within %v: %s", patience, what)
}
