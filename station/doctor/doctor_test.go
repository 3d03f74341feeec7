package doctor

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/station/copies"
)

// soundMachine is a machine on which nothing is wrong.
func soundMachine() Machine {
	zone := time.FixedZone("CET", 3600)
	return Machine{
		Now: time.Now, Zone: zone, Free: func(string) (int64, error) { return 40 << 30, nil }, Clock: func() (bool, bool) { return true, true }, Go: mendedGo,
		Ports:  func() ([]devices.PortInfo, error) { return []devices.PortInfo{{Name: "/dev/ttyS7"}}, nil },
		MayNot: func(string) string { return "" },
	}
}

// shop is a folder with the record of a station that has one gauge, on a line of its own.
func shop(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o750); err != nil {
		t.Fatal(err)
	}
	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	_, err = db.SaveGauge(t.Context(), "Tove Aske", batch.Gauge{Name: "carriage", Path: "/dev/ttyS7", Decoder: "plain", Sense: 1, Capture: "key", ResolutionMM: 0.01, ZeroLimitMM: 0.01,
		Measures: []batch.Kind{batch.Crown}})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	copied(t, dir, time.Now(), "")
	return dir
}

// copied leaves in a folder what a station leaves there whose last copy was made at a time, or failed.
func copied(t *testing.T, dir string, at time.Time, failed string) {
	t.Helper()
	done := copies.Done{At: at, Tried: at, Failed: failed}
	s := copies.State{Plan: &copies.Plan{To: "/srv/copies", Keep: 3, Since: at}, Backup: done, Drill: copies.Done{At: at}}
	text, err := json.Marshal(s)
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, "copies.json"), text, 0o640)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// change changes the gauge of the record in dir.
func change(t *testing.T, dir string, how func(g *batch.Gauge)) {
	t.Helper()
	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	gauges, err := db.Gauges(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	how(&gauges[0])
	if _, err := db.SaveGauge(t.Context(), "Tove Aske", gauges[0]); err != nil {
		t.Fatal(err)
	}
}

// Every fault that is planted is named, at its part, and nothing else is.
func TestFaultsAreNamed(t *testing.T) {
	for _, c := range []struct {
		name  string
		plant func(m *Machine, dir string) string // the folder to look at
		part  string
		state State
		says  string
	}{
		{"nothing", func(*Machine, string) string { return "" }, "", Well, ""},
		{"no folder", func(_ *Machine, dir string) string { return filepath.Join(dir, "nowhere") }, "Folder", Wrong, "There is no folder"},
		{"a file", func(_ *Machine, dir string) string { return filepath.Join(dir, "record.db") }, "Folder", Wrong, "is a file"},
		{"open to all", func(_ *Machine, dir string) string { _ = os.Chmod(dir, 0o755); return dir }, "Folder", Look, "Everybody on this computer"},
		{"no record", func(_ *Machine, dir string) string { _ = os.Remove(filepath.Join(dir, "record.db")); return dir }, "Record", Look, "no record in the folder yet"},
		{"not a record", func(_ *Machine, dir string) string {
			_ = os.WriteFile(filepath.Join(dir, "record.db"), []byte(strings.Repeat("no record ", 2000)), 0o600)
			return dir
		}, "Record", Wrong, "not a record"},
		{"no copies", func(_ *Machine, dir string) string { _ = os.Remove(filepath.Join(dir, "copies.json")); return dir }, "Copies", Look, "makes no copies"},
		{"a backup that failed", func(_ *Machine, dir string) string { copied(t, dir, time.Now(), "the folder is not there"); return dir }, "Copies", Look, "The last backup failed: the folder is not there"},
		{"a backup long ago", func(m *Machine, dir string) string {
			copied(t, dir, time.Now().AddDate(0, 0, -3), "")
			return dir
		}, "Copies", Look, "The backup that was due has not been made"},
		{"copies.json damaged", func(_ *Machine, dir string) string {
			_ = os.WriteFile(filepath.Join(dir, "copies.json"), []byte("{"), 0o600)
			return dir
		}, "Copies", Look, "is damaged"},
		{"no room", func(m *Machine, dir string) string {
			m.Free = func(string) (int64, error) { return 150 << 20, nil }
			return dir
		}, "Room", Wrong, "150 MB are left"},
		{"little room", func(m *Machine, dir string) string {
			m.Free = func(string) (int64, error) { return 1 << 30, nil }
			return dir
		}, "Room", Look, "1024 MB are left"},
		{"room not told", func(m *Machine, dir string) string {
			m.Free = func(string) (int64, error) { return 0, errors.New("not here") }
			return dir
		}, "Room", Look, "cannot be told: not here"},
		{"a clock set back", func(m *Machine, dir string) string {
			m.Now = func() time.Time { return time.Now().Add(-time.Hour) }
			return dir
		}, "Clock", Wrong, "the clock was set back"},
		{"no time service", func(m *Machine, dir string) string { m.Clock = func() (bool, bool) { return false, true }; return dir }, "Clock", Look, "no time service keeps the clock"},
		{"no zone", func(m *Machine, dir string) string { m.Zone = time.UTC; return dir }, "Clock", Look, "no shop's wall"},
		{"a port not allowed", func(m *Machine, dir string) string {
			m.MayNot = func(port string) string { return port + " may be opened by root." }
			return dir
		}, "Gauge carriage", Wrong, "/dev/ttyS7 may be opened by root"},
		{"not plugged in", func(m *Machine, dir string) string {
			m.Ports = func() ([]devices.PortInfo, error) { return nil, nil }
			return dir
		}, "Gauge carriage", Look, "Its port is not there"},
		{"alike adapters", func(m *Machine, dir string) string {
			change(t, dir, func(g *batch.Gauge) { g.Path, g.USBVendor, g.USBProduct = "", "e71a", "0001" })
			alike := devices.Identity{Vendor: "e71a", Product: "0001"}
			m.Ports = func() ([]devices.PortInfo, error) {
				return []devices.PortInfo{{Name: "/dev/ttyUSB0", Identity: alike, Socket: "1-1"}, {Name: "/dev/ttyUSB1", Identity: alike, Socket: "1-2"}}, nil
			}
			return dir
		}, "Gauge carriage", Look, "It may be on any of /dev/ttyUSB0 and /dev/ttyUSB1"},
		{"a gauge that types", func(_ *Machine, dir string) string {
			change(t, dir, func(g *batch.Gauge) { g.Path, g.Capture = "", devices.CaptureTyped })
			return dir
		}, "", Well, ""},
		{"no list of ports", func(m *Machine, dir string) string {
			m.Ports = func() ([]devices.PortInfo, error) { return nil, errors.New("the list is not to be had") }
			return dir
		}, "Ports", Wrong, "The list is not to be had"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, dir := soundMachine(), shop(t)
			at := c.plant(&m, dir)
			if at == "" {
				at = dir
			}
			var found bool
			for _, f := range m.Station(context.WithoutCancel(t.Context()), at, here) {
				if f.Part == c.part && f.State == c.state && strings.Contains(f.Says, c.says) {
					found = true
				} else if f.State != Well && !(c.part == "Folder" && c.state == Wrong) {
					t.Errorf("%s is %s: %s %s", f.Part, f.State, f.Says, f.Do)
				}
			}
			if !found && c.part != "" {
				t.Errorf("%s is not %s with %q: %+v", c.part, c.state, c.says, m.Station(t.Context(), at, here))
			}
		})
	}
}

// Looking changes nothing: the folder holds afterwards what it held.
func TestLookingChangesNothing(t *testing.T) {
	dir := shop(t)
	before, err := os.ReadFile(filepath.Join(dir, "record.db"))
	if err != nil {
		t.Fatal(err)
	}
	soundMachine().Station(t.Context(), dir, here)
	after, err := os.ReadFile(filepath.Join(dir, "record.db"))
	if err != nil || string(before) != string(after) {
		t.Errorf("the record changed: %v", err)
	}
	left, err := filepath.Glob(filepath.Join(dir, ".doctor-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
