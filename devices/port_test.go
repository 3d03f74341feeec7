package devices

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
)

var line9600 = decode.Line{Baud: 9600, DataBits: 8, Parity: "none", StopBits: 1}

func kindOfError(t *testing.T, err error) Kind {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Fatalf("%v is no *Error", err)
	}
	return e.Kind
}

func TestOpenErrorsAreTranslated(t *testing.T) {
	for _, c := range []struct {
		cause error
		want  Kind
		todo  string
	}{
		{syscall.ENOENT, Missing, "plug the gauge in"},
		{syscall.ENXIO, Missing, "plug the gauge in"},
		{syscall.EIO, Missing, "plug the gauge in"},
		{syscall.EBUSY, Busy, "close the other program"},
		{syscall.EACCES, Denied, "dialout"},
		{fs.ErrPermission, Denied, "dialout"},
		{syscall.ENOTTY, NotAPort, "sagitta ports"},
		{errors.New("something new"), Failed, "unplug it"},
		{fmt.Errorf("wrapped: %w", syscall.EBUSY), Busy, "close the other program"},
	} {
		open := func(string, *serial.Mode) (serial.Port, error) { return nil, c.cause }
		_, err := openPort(open, "/dev/gauge", line9600)
		if got := kindOfError(t, err); got != c.want {
			t.Errorf("%v: kind %v, want %v", c.cause, got, c.want)
		}
		if !errors.Is(err, c.cause) || !strings.Contains(err.Error(), "/dev/gauge") || !strings.Contains(err.Error(), c.todo) {
			t.Errorf("%v: message %q", c.cause, err)
		}
	}
}

func TestReadErrorsAreTranslated(t *testing.T) {
	for _, cause := range []error{syscall.EIO, syscall.ENXIO, syscall.EBADF, &serial.PortError{}} {
		want := Unplugged
		if _, ok := cause.(*serial.PortError); ok {
			want = Busy // the zero code of the library is "busy"
		}
		if got := kindOf(true, cause); got != want {
			t.Errorf("%v: kind %v, want %v", cause, got, want)
		}
	}
}

func TestEveryKindHasWords(t *testing.T) {
	for k := Failed; k <= TooMany; k++ {
		if k.String() == "" || k.Sentence() == "" || k.ToDo() == "" {
			t.Errorf("kind %d lacks words", int(k))
		}
	}
}

func TestRealOpenErrors(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	s := newSocket(t)
	for _, c := range []struct {
		name string
		line decode.Line
		want Kind
	}{
		{filepath.Join(dir, "none"), line9600, Missing},
		{file, line9600, NotAPort},
		{dir, line9600, NotAPort},
		{s.path, decode.Line{Baud: 9600, DataBits: 8, Parity: "some", StopBits: 1}, Unsupported},
	} {
		_, err := openPort(serial.Open, c.name, c.line)
		if got := kindOfError(t, err); got != c.want {
			t.Errorf("%s: kind %v, want %v (%v)", c.name, got, c.want, err)
		}
	}
}

func TestPortReadsWritesAndNoticesUnplugging(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	p, err := openPort(serial.Open, s.path, line9600)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if _, err := openPort(serial.Open, s.slave.Name(), line9600); kindOfError(t, err) != Busy {
		t.Errorf("opened twice: %v", err)
	}
	if p.Name() != s.path {
		t.Errorf("name %q, want %q", p.Name(), s.path)
	}
	buf := make([]byte, 64)
	if n, err := p.Read(buf); n != 0 || err != nil {
		t.Errorf("nothing to read: %d, %v", n, err)
	}
	s.ready("abc")
	if n, err := p.Read(buf); string(buf[:n]) != "abc" || err != nil {
		t.Errorf("read %q, %v", buf[:n], err)
	}
	if n, err := p.Write([]byte("R\r")); n != 2 || err != nil {
		t.Errorf("write: %d, %v", n, err)
	}
	if n, err := s.master.Read(buf); string(buf[:n]) != "R\r" || err != nil {
		t.Errorf("the gauge got %q, %v", buf[:n], err)
	}
	s.unplug()
	for deadline := time.Now().Add(patience); ; {
		_, err = p.Read(buf)
		if err != nil || time.Now().After(deadline) {
			break
		}
	}
	if kindOfError(t, err) != Unplugged || !strings.Contains(err.Error(), "after 3 bytes") {
		t.Errorf("read after unplugging: %v", err)
	}
	if _, err := p.Write([]byte("R")); kindOfError(t, err) != Unplugged {
		t.Errorf("write after unplugging: %v", err)
	}
}

func TestClosedPortTouchesNoFile(t *testing.T) {
	s := newSocket(t)
	p, err := openPort(serial.Open, s.path, line9600)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "record") // gets the descriptor that the port had
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	_, err = p.Write([]byte("damage"))
	if kindOfError(t, err) != Unplugged {
		t.Errorf("write after close: %v", err)
	}
	if _, err := p.Read(make([]byte, 1)); kindOfError(t, err) != Unplugged {
		t.Errorf("read after close: %v", err)
	}
	if info, _ := os.Stat(path); info.Size() != 0 {
		t.Errorf("%d bytes landed in another file", info.Size())
	}
	if err := p.Close(); err != nil {
		t.Errorf("second close: %v", err)
	}
}

func TestAGaugeThatTakesNothing(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	p, err := openPort(serial.Open, s.path, line9600)
	if err != nil {
		t.Fatal(err)
	}
	_, err = p.Write(make([]byte, 1<<20)) // more than the system keeps
	if kindOfError(t, err) != Stuck {
		t.Errorf("write: %v", err)
	}
	s.unplug()
	p.Close()
	eventually(t, "the port is given back", func() bool {
		opened.Lock()
		defer opened.Unlock()
		return !opened.names[p.key]
	})
}

// blocked is a port that takes no byte until it is released; ResetOutputBuffer does not help it.
type blocked struct {
	serial.Port
	release chan struct{}
	closed  chan struct{}
}

func (b *blocked) SetReadTimeout(time.Duration) error { return nil }
func (b *blocked) ResetOutputBuffer() error           { return nil }
func (b *blocked) Close() error                       { close(b.closed); return nil }
func (b *blocked) Write(p []byte) (int, error) {
	<-b.release
	return len(p), nil
}

// Closing a descriptor under a blocked write would let the write reach another file: the close waits for it.
func TestABlockedWriteKeepsThePort(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		b := &blocked{release: make(chan struct{}), closed: make(chan struct{})}
		open := func(string, *serial.Mode) (serial.Port, error) { return b, nil }
		p, err := openPort(open, "blocked port", line9600)
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			if _, err := p.Write([]byte("R\r")); kindOfError(t, err) != Stuck {
				t.Errorf("write: %v", err)
			}
		}
		if err := p.Close(); kindOfError(t, err) != Stuck {
			t.Errorf("close: %v", err)
		}
		if _, err := openPort(open, "blocked port", line9600); kindOfError(t, err) != Busy {
			t.Errorf("opened while a write is in it: %v", err)
		}
		select {
		case <-b.closed:
			t.Error("closed under a blocked write")
		default:
		}
		close(b.release)
		<-b.closed
	})
}

func TestPortsAreBounded(t *testing.T) {
	var all []string
	defer func() {
		for _, key := range all {
			release(key)
		}
	}()
	for i := range mostPorts + 1 {
		key := fmt.Sprint("test port ", i)
		err := claim(key, key)
		if err != nil {
			if len(all) != mostPorts || kindOfError(t, err) != TooMany {
				t.Errorf("port %d: %v", i, err)
			}
			return
		}
		all = append(all, key)
	}
	t.Errorf("%d ports were allowed", len(all))
}

func TestFindByIdentity(t *testing.T) {
	upper, other := adapter("S2"), adapter("")
	upper.Vendor = strings.ToUpper(upper.Vendor) // systems differ in how they write hex digits
	other.Product = "0b02"
	ports := []PortInfo{
		{Name: "/dev/a", Identity: adapter("S1")},
		{Name: "/dev/b", Identity: upper},
		{Name: "/dev/c", Identity: other},
		{Name: "/dev/d"},
	}
	for _, c := range []struct {
		want Identity
		name string
		kind Kind
	}{
		{adapter("S1"), "/dev/a", 0},
		{adapter("S2"), "/dev/b", 0},
		{other, "/dev/c", 0},
		{adapter("S3"), "", Missing},
		{adapter(""), "", Alike},
	} {
		name, err := find(ports, c.want, "", nil, nil)
		if c.kind == Alike && err != nil && !strings.Contains(err.Error(), "cannot be told apart: /dev/a, /dev/b") {
			t.Errorf("%v: %v", c.want, err)
		}
		if name != c.name || err != nil && kindOfError(t, err) != c.kind {
			t.Errorf("%v: %q, %v; want %q", c.want, name, err, c.name)
		}
	}
}

// The terminal from which the program is worked is not opened as a gauge, under whichever name, let alone written to.
func TestOwnTerminalIsNoPort(t *testing.T) {
	link := filepath.Join(t.TempDir(), "gauge")
	if err := os.Symlink("/dev/tty", link); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"/dev/tty", "/dev/console", link} {
		_, err := openPort(func(string, *serial.Mode) (serial.Port, error) {
			t.Errorf("%s was opened", name)
			return nil, errors.New("opened")
		}, name, line9600)
		var of *Error
		if !errors.As(err, &of) || of.Kind != NotAPort {
			t.Errorf("%s: %v", name, err)
		}
	}
}
