package command

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/station/app"
	"sagitta/station/demo"
)

// TestServeRefuses comes to each door of the two commands that run the station with something that cannot be: both say
// what, where and what to do, and end with 1; an address that cannot be one is wrong usage, and no record is made for it.
func TestServeRefuses(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	folder := func(change func(dir string)) string {
		dir := t.TempDir()
		change(dir)
		return dir
	}
	inUse := t.TempDir()
	first := openStation(t, inUse)
	defer func() { _ = first.Close() }()
	newer := folder(func(dir string) {
		if err := openStation(t, dir).Close(); err != nil {
			t.Fatal(err)
		}
		execute(t, dir, `INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)`)
	})
	foreign := folder(func(dir string) { execute(t, dir, `CREATE TABLE recipes (name)`) })
	text := folder(func(dir string) {
		if err := os.WriteFile(filepath.Join(dir, "record.db"), []byte(strings.Repeat("not a database ", 50)), 0o600); err != nil {
			t.Fatal(err)
		}
	})
	inFile := filepath.Join(text, "record.db", "data")
	free := "127.0.0.1:0"
	for _, c := range []struct {
		name, dir, listen string
		want              []string
	}{
		{"address in use", t.TempDir(), taken.Addr().String(), []string{"the address " + taken.Addr().String() + " is in use", "--listen"}},
		{"second station on a record", inUse, free, []string{filepath.Join(inUse, "record.db"), "in use by another station", "a folder of its own"}},
		{"record of a newer program", newer, free, []string{filepath.Join(newer, "record.db"), "newer version", "its schema is 99"}},
		{"another program's database", foreign, free, []string{filepath.Join(foreign, "record.db"), "not a record of this program"}},
		{"a text in the record's place", text, free, []string{filepath.Join(text, "record.db"), "not a record of this program"}},
		{"folder that cannot be made", inFile, free, []string{inFile, "cannot be made"}},
	} {
		for command, flag := range map[string]string{"serve": "--data", "demo": "--out"} {
			t.Run(c.name+", "+command, func(t *testing.T) {
				code, out, errs := sagitta(t, "", command, flag, c.dir, "--listen", c.listen)
				if code != exitFailed || out != "" {
					t.Errorf("exit code %d, want %d; printed %q", code, exitFailed, out)
				}
				for _, w := range c.want {
					if !strings.Contains(errs, w) {
						t.Errorf("%q does not say %q", errs, w)
					}
				}
			})
		}
	}
}

// TestAddressThatCannotBe is wrong usage, said before a record is made.
func TestAddressThatCannotBe(t *testing.T) {
	for _, listen := range []string{"nowhere", "127.0.0.1:99999", "127.0.0.1:http", ""} {
		for command, flag := range map[string]string{"serve": "--data", "demo": "--out"} {
			dir := filepath.Join(t.TempDir(), "station")
			code, out, errs := sagitta(t, "", command, flag, dir, "--listen", listen)
			if code != exitUsage || out != "" || !strings.Contains(errs, fmt.Sprintf("--listen: found %q; allowed: host:port", listen)) {
				t.Errorf("%s --listen %q: code %d, %q, %q", command, listen, code, out, errs)
			}
			if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
				t.Errorf("%s --listen %q made a folder: %v", command, listen, err)
			}
		}
	}
}

// TestLogOfALostPort: a gauge whose port is not there is a warning in the log's file.
func TestLogOfALostPort(t *testing.T) {
	dir := t.TempDir()
	a := openStation(t, dir)
	gauge := batch.Gauge{Name: "probe", Capture: "key", Decoder: "signed decimal with unit", Sense: 1, ResolutionMM: 0.01, Path: filepath.Join(dir, "nowhere")}
	if _, err := a.Record.SaveGauge(t.Context(), "Wren Halloway", gauge); err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "station.log")
	ctx, end := context.WithCancel(t.Context())
	defer end()
	var out, errs gather
	ended := make(chan int, 1)
	go func() {
		ended <- Run(ctx, []string{"serve", "--data", dir, "--listen", "127.0.0.1:0", "--log-file", file}, strings.NewReader(""), &out, &errs)
	}()
	until(t, "the log tells of the port", func() bool {
		text, _ := os.ReadFile(file)
		return strings.Contains(string(text), `level=WARN msg="port lost"`) && strings.Contains(string(text), "state=missing")
	})
	end()
	if code := <-ended; code != exitDone || errs.String() != "" {
		t.Errorf("code %d, %s", code, &errs)
	}
}

func openStation(t testing.TB, dir string) *app.App {
	t.Helper()
	a, err := app.Open(t.Context(), app.Options{Dir: dir, Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// execute changes the database in a record's place behind the program's back.
func execute(t *testing.T, dir, statement string) {
	t.Helper()
	raw, err := sql.Open("sqlite", filepath.Join(dir, "record.db"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := raw.Exec(statement); err != nil {
		t.Fatal(err)
	}
	if err := raw.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestSecondDemoLeavesTheFirstAlone starts a demo in a folder where one runs: it is refused, and the first one's gauges
// still answer.
func TestSecondDemoLeavesTheFirstAlone(t *testing.T) {
	dir := t.TempDir()
	first, err := demo.Open(t.Context(), app.Options{Dir: dir, Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = first.Close() }()
	lines := func() string {
		list := ""
		for _, id := range []string{simulate.CarriageID, simulate.HeightID, simulate.BeamID} {
			to, err := os.Readlink(filepath.Join(dir, "gauges", id))
			list += fmt.Sprintln(id, to, err)
		}
		return list
	}
	before := lines()
	if code, _, errs := sagitta(t, "", "demo", "--out", dir, "--listen", "127.0.0.1:0"); code != exitFailed || !strings.Contains(errs, "in use by another station") {
		t.Errorf("the second demo ended with %d, %q", code, errs)
	}
	if after := lines(); after != before {
		t.Errorf("the first demo's lines were\n%s and are\n%s", before, after)
	}
	for _, g := range first.Bench.Snapshot().Gauges {
		if g.Locked {
			t.Errorf("%s", g.Words)
		}
	}
}

// TestServeOthers: another machine's way in needs people who sign on, and options that do not go together are wrong usage.
func TestServeOthers(t *testing.T) {
	dir := t.TempDir()
	code, out, errs := sagitta(t, "", "serve", "--data", dir, "--listen", ":0")
	if code != exitFailed || out != "" || !strings.Contains(errs, "nobody signs on in the record of "+dir) {
		t.Errorf("code %d, %q, %q", code, out, errs)
	}
	for _, c := range []struct{ options, says string }{
		{"--tls-cert a.pem", "--tls-cert and --tls-key"}, {"--tls-key a.pem", "--tls-cert and --tls-key"},
		{"--behind-proxy 127.0.0.1", "needs --address"}, {"--proxy-headers A,B", "needs --behind-proxy"},
		{"--behind-proxy 127.0.0.1 --address https://a.example --tls-cert a --tls-key b", "give one of them"},
		{"--behind-proxy everybody", `found "everybody"`}, {"--behind-proxy 0.0.0.0/0", "not every address"},
		{"--address http://a.example", "allowed: https://host"}, {"--address https://a.example/x", "allowed: https://host"}, {"--address https://me@a.example", "allowed: https://host"},
		{"--proxy-headers X-Client", "two names of headers"}, {"--proxy-headers X:Client,B", "two names of headers"},
	} {
		code, out, errs := sagitta(t, "", append([]string{"serve", "--data", filepath.Join(dir, "none")}, strings.Fields(c.options)...)...)
		if code != exitUsage || out != "" || !strings.Contains(errs, c.says) {
			t.Errorf("%s: code %d, %q, %q", c.options, code, out, errs)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "none")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("wrong usage made a folder: %v", err)
	}
}
