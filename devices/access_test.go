package devices

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"go.bug.st/serial"
)

// TestDeniedPortSaysWhoMay: who may, who asks and what to do, in an error and at the gauge, as the port's rights are.
func TestDeniedPortSaysWhoMay(t *testing.T) {
	for _, c := range []struct {
		name string
		a    access
		want []string
		not  string
	}{
		{"not in the group", access{mode: 0o660, owner: "root", group: "dialout", user: "mara", groups: []string{"mara", "audio"}},
			[]string{"may be opened by root and by who is in the group dialout; mara is in mara, audio", "sudo usermod -aG dialout mara", "log out and in again"}, "udev"},
		{"in no group", access{mode: 0o660, owner: "root", group: "uucp", user: "mara"}, []string{"mara is in no group", "usermod -aG uucp mara"}, "udev"},
		{"put into it after the start", access{mode: 0o660, owner: "root", group: "dialout", user: "mara", groups: []string{"mara"}, entered: true},
			[]string{"mara has been put into it, but this program was started before: log out and in again"}, "usermod"},
		{"its owner's alone", access{mode: 0o600, owner: "root", group: "root", user: "mara", groups: []string{"root"}}, []string{"Only root may open", "udev rule"}, "usermod"},
		{"the group may only read", access{mode: 0o640, owner: "root", group: "dialout", user: "mara", groups: []string{"dialout"}}, []string{"Only root may open", "dialout has no right to read and write"}, "usermod"},
	} {
		c.a.port = "/dev/ttyUSB7"
		said := c.a.words()
		for _, want := range append(c.want, "/dev/ttyUSB7", "The workshop's own rules go before this", HelpOnPorts) {
			if !strings.Contains(said, want) {
				t.Errorf("%s: %q lacks %q", c.name, said, want)
			}
		}
		if strings.Contains(said, c.not) {
			t.Errorf("%s: %q says %q, which does not help", c.name, said, c.not)
		}
	}
	if err := translate("COM3", false, 0, fs.ErrPermission); !strings.Contains(err.Error(), Denied.ToDo()) {
		t.Errorf("where the system does not tell: %v", err)
	}
}

// accessOf is what the system knows of a file's rights. On Linux it knows them.
func accessOf(t *testing.T, file string) access {
	t.Helper()
	a, ok := systemAccess(file)
	if !ok && runtime.GOOS == "linux" {
		t.Fatal("nothing is known of the rights of a file")
	}
	if !ok {
		t.Skip("this system has no such rights")
	}
	return a
}

// TestGaugeSaysWhoMayOpenItsPort: an error, and what the bench and the pages show of a gauge whose port is denied, tell of the port's own
// rights; here of a file that its owner alone may open.
func TestGaugeSaysWhoMayOpenItsPort(t *testing.T) {
	file := filepath.Join(t.TempDir(), "tty")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	a := accessOf(t, file)
	want := "Only " + a.owner + " may open " + file
	if err := translate(file, false, 0, syscall.EACCES); !strings.Contains(err.Error(), want) {
		t.Errorf("%v lacks %q", err, want)
	}
	inBubble(t, func(t *testing.T) {
		b := run(t, Options{Open: func(string, *serial.Mode) (serial.Port, error) {
			return nil, &fs.PathError{Op: "open", Path: file, Err: syscall.EACCES}
		}}, Gauge{ID: "denied", Path: file, Decoder: builtin(t, "decimal comma"), Capture: CaptureKey})
		pass(time.Second)
		b.went(t, "denied", StateDenied)
		if h := b.Health()[0]; !strings.Contains(h.ToDo, want) || !strings.Contains(h.Words, "may not open") {
			t.Errorf("said: %q, to do: %q", h.Words, h.ToDo)
		}
	})
}

// TestSystemAccess looks at a file of this user's own: its rights, its owner and the groups in which this program runs are the system's.
func TestSystemAccess(t *testing.T) {
	file := filepath.Join(t.TempDir(), "tty")
	if err := os.WriteFile(file, nil, 0o640); err != nil {
		t.Fatal(err)
	}
	a := accessOf(t, file)
	if a.mode != 0o640 || a.owner != a.user || a.owner == "" || len(a.groups) == 0 || !slices.Contains(a.groups, a.group) || a.entered {
		t.Errorf("%+v", a)
	}
	if MayNot(file) != "" {
		t.Errorf("this user's own file may not be opened: %s", MayNot(file))
	}
	if _, ok := systemAccess(file + "x"); ok || MayNot(file+"x") != "" {
		t.Error("a file that is not there has rights")
	}
	if err := os.Chmod(file, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.OpenFile(file, os.O_RDWR, 0); errors.Is(err, fs.ErrPermission) { // nobody is denied a file who may do everything
		if !strings.Contains(MayNot(file), "Only "+a.owner) {
			t.Errorf("a file that nobody may open: %q", MayNot(file))
		}
	} else if err == nil {
		f.Close()
	}
}
