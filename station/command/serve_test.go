package command

import (
	"database/sql"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/devices/simulate"
	"sagitta/station/app"
	"sagitta/station/demo"
)

// TestServeRefuses comes to each door of the two commands that run the station with something that cannot be: both say
// what, where and what to do, and end with 1.
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
		{"address without a port", t.TempDir(), "nowhere", []string{"the address nowhere", "host:port"}},
		{"port that cannot be", t.TempDir(), "127.0.0.1:99999", []string{"127.0.0.1:99999", "host:port"}},
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
