package main

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/devices/simulate"
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
	defer func() { _ = first.close() }()
	newer := folder(func(dir string) {
		if err := openStation(t, dir).close(); err != nil {
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

func openStation(t testing.TB, dir string) *app {
	t.Helper()
	a, err := openApp(t.Context(), appOptions{Dir: dir, Name: "bench 1"})
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
	first, err := openDemo(t.Context(), appOptions{Dir: dir, Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = first.close() }()
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
	for _, g := range first.bench.Snapshot().Gauges {
		if g.Locked {
			t.Errorf("%s", g.Words)
		}
	}
}

// TestGaugeEntryThatCannotBeUsed leaves the open lines as they are; entries that change at the same time leave one set of
// lines open.
func TestGaugeEntryThatCannotBeUsed(t *testing.T) {
	d, err := openDemo(t.Context(), appOptions{Dir: t.TempDir(), Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.close() }()
	var changes sync.WaitGroup
	for range 4 {
		changes.Go(func() {
			if err := d.watchGauges(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
	changes.Wait()
	if err := d.waitForGauges(t.Context()); err != nil {
		t.Fatal(err)
	}
	beside := demoGauge(d.sim.Gauges()[0]) // on the same port with another decoder
	beside.ID, beside.Name, beside.Decoder, beside.KeyChannel = "", "second indicator", simulate.SignedMillimetres.Decoder, ""
	if _, err := d.record.SaveGauge(t.Context(), demoManager, beside); err != nil {
		t.Fatal(err)
	}
	if err := d.watchGauges(t.Context()); err == nil || !strings.Contains(err.Error(), "shares its port") {
		t.Fatalf("error %v", err)
	}
	for _, g := range d.sim.Gauges() {
		if slices.Equal(g.Measures, []string{"position"}) {
			continue // it finds its place from the frets
		}
		if err := d.hand.check(t.Context(), g.ID); err != nil {
			t.Errorf("%s: %v", g.Name, err)
		}
	}
}

// TestServeEnds ends a station while one page listens and another one has stopped reading: it ends in good time and
// calls that done.
func TestServeEnds(t *testing.T) {
	a, err := openApp(t.Context(), appOptions{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.close() }()
	ctx, end := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- a.serve(ctx, nil) }()

	stalled, err := net.Dial("tcp", a.listen.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer stalled.Close()
	if err := stalled.(*net.TCPConn).SetReadBuffer(1 << 12); err != nil {
		t.Fatal(err)
	}
	if _, err := fmt.Fprint(stalled, "GET /events HTTP/1.1\r\nHost: bench\r\n\r\n"); err != nil {
		t.Fatal(err)
	}
	resp, err := http.Get(a.url() + "events")
	if err != nil {
		t.Fatal(err)
	}
	go func() { // the page that reads, at last to the end of its stream
		_, _ = io.Copy(io.Discard, resp.Body)
		_ = resp.Body.Close()
	}()
	for i := range 30 { // more than the stalled page's buffers hold
		a.bench.Refuse(fmt.Errorf("%d %s", i, strings.Repeat("a long sentence ", 15000)))
		time.Sleep(50 * time.Millisecond)
	}
	end()
	select {
	case err := <-ended:
		if err != nil {
			t.Errorf("the pages ended with %v", err)
		}
	case <-time.After(30 * time.Second):
		t.Fatal("the pages did not end")
	}
}

// TestDemoEndsAtWork ends the demo while its inspector works unattended: the deed in progress is finished first, the
// neck waits where it was, and nothing is said to the bench after that.
func TestDemoEndsAtWork(t *testing.T) {
	opt := appOptions{Dir: t.TempDir(), Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}
	d, err := openDemo(t.Context(), opt, 1)
	if err != nil {
		t.Fatal(err)
	}
	changed, stop := d.bench.Watch()
	defer stop()
	if err := d.hand.Unattended(t.Context()); err != nil {
		t.Fatal(err)
	}
	for d.bench.Snapshot().Taken < 5 {
		<-changed
	}
	if err := d.close(); err != nil {
		t.Error(err)
	}
	last := d.bench.Snapshot()
	if last.Notice != nil && last.Notice.Refused {
		t.Errorf("the bench was told %q", last.Notice.Text)
	}
	if d, err = openDemo(t.Context(), opt, 1); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.close() }()
	if now := d.bench.Snapshot(); now.Serial != last.Serial || now.Taken != last.Taken {
		t.Errorf("%s comes back with %d readings, it was left as %s with %d", now.Serial, now.Taken, last.Serial, last.Taken)
	}
}

// A demo that was killed leaves links to terminals that may be another program's by now: a station on its record takes
// them away and opens none of them. A file that is no link stays.
func TestLinksOfAKilledDemoAreTakenAway(t *testing.T) {
	dir := t.TempDir()
	lines := filepath.Join(dir, simulatedLines)
	if err := os.Mkdir(lines, 0o750); err != nil {
		t.Fatal(err)
	}
	stranger, err := simulate.OpenLine(filepath.Join(lines, "height"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = stranger.Close() }()
	note := filepath.Join(lines, "note.txt")
	if err := os.WriteFile(note, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	a, err := openApp(t.Context(), appOptions{Dir: dir, Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.close() }()
	if _, err := os.Lstat(filepath.Join(lines, "height")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the link is there: %v", err)
	}
	if _, err := os.Stat(note); err != nil {
		t.Error(err)
	}
}
