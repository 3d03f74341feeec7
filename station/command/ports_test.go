package command

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"
	"go.bug.st/serial"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/station/app"
	"sagitta/testdata/usb"
)

// An unknown gauge on a pseudo-terminal is identified by what it sends and entered with its adapter's identity; the list
// of ports then names it.
func TestPortsIdentifyEntersTheGauge(t *testing.T) {
	dir := t.TempDir()
	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	master, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer master.Close()
	defer slave.Close()
	raw, err := serial.Open(slave.Name(), &serial.Mode{BaudRate: 9600}) // raw mode, so that nothing is echoed
	if err != nil {
		t.Fatal(err)
	}
	raw.Close()
	presses := []string{"+.01220in\r\n", "+.02500in\r\n", "-.00750in\r\n"}
	pressing, stop := context.WithCancel(t.Context())
	defer stop()
	go func() { // somebody presses the data key
		for n := 0; pressing.Err() == nil; n++ {
			if _, err := master.WriteString(presses[n%len(presses)]); err != nil {
				return
			}
			time.Sleep(300 * time.Millisecond)
		}
	}()
	var out bytes.Buffer
	run := portsRun{
		sealed: func(*record.DB) (context.Context, error) { return t.Context(), nil },
		record: app.Options{Dir: dir, Name: "bench 1"}, identify: slave.Name(), listen: time.Minute, save: "height gauge", by: "Mara Quill",
		measures: []string{"action"}, out: &out, mayNot: func(string) string { return "" },
		list: func() ([]devices.PortInfo, error) {
			return []devices.PortInfo{{Name: slave.Name(), Identity: devices.Identity{Vendor: usb.Vendor, Product: usb.Product, Serial: usb.Serial}, Socket: "usb-1"}}, nil
		},
	}
	if err := run.identifyPort(t.Context()); err != nil {
		t.Fatalf("%v\n%s", err, &out)
	}
	for _, want := range []string{"setting 1", "1. decimal inch without leading zero", `in\r\n", read as `, "digits", "That is enough.", "Entered as height gauge: USB " + usb.Vendor + ":" + usb.Product + ", serial number " + usb.Serial} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("the command does not say %q:\n%s", want, &out)
		}
	}
	gauges, err := run.gauges(t.Context())
	if err != nil || len(gauges) != 1 {
		t.Fatalf("gauges %+v, %v", gauges, err)
	}
	// Five decimals of an inch are steps of 0.000254 mm; one socket needs no name where the adapter has a serial number.
	if g := gauges[0]; g.Name != "height gauge" || g.Decoder != "decimal inch without leading zero" || g.ResolutionMM != 0.000254 || g.USBSocket != "" || !g.Serves(batch.ActionHeight) {
		t.Errorf("entered %+v", g)
	}
	out.Reset()
	if err := run.listPorts(t.Context()); err != nil || !strings.Contains(out.String(), "usb-1") || !strings.Contains(out.String(), "height gauge") {
		t.Errorf("%v\n%s", err, &out)
	}
}

// TestPortsSaysWhoMay: under the list stands who may open each port that this user may not.
func TestPortsSaysWhoMay(t *testing.T) {
	var out bytes.Buffer
	run := portsRun{
		sealed: func(*record.DB) (context.Context, error) { return t.Context(), nil },
		record: app.Options{Dir: t.TempDir()}, out: &out,
		list: func() ([]devices.PortInfo, error) {
			return []devices.PortInfo{{Name: "/dev/ttyUSB0"}, {Name: "/dev/ttyUSB1"}}, nil
		},
		mayNot: func(port string) string {
			return map[string]string{"/dev/ttyUSB1": "Whoever looks after this machine gives it to you."}[port]
		},
	}
	if err := run.listPorts(t.Context()); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != 4 || !strings.HasPrefix(lines[2], "/dev/ttyUSB1") || lines[3] != "Whoever looks after this machine gives it to you." {
		t.Errorf("printed %q", lines)
	}
}
