package bench

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/simulate"
	"sagitta/station/bench/routine"
	"sagitta/testdata/terminal"
)

// wired is the shop with its gauges on pseudo-terminals, read by the program's own supervisor.
type wired struct {
	*shop
	dir   string
	lines map[string]*simulate.Line

	mu      sync.Mutex
	refused map[string]int // stretches, by gauge
}

func wire(t *testing.T, s *shop) *wired {
	t.Helper()
	w := &wired{shop: s, dir: t.TempDir(), lines: map[string]*simulate.Line{}, refused: map[string]int{}}
	d, err := decode.Find("channel and value")
	if err != nil {
		t.Fatal(err)
	}
	var gauges []devices.Gauge
	for _, id := range []string{carriage, height, beam} {
		w.plug(id)
		gauges = append(gauges, devices.Gauge{ID: id, Name: id, Path: w.path(id), Decoder: d, KeyChannel: "K", Capture: devices.CaptureStream})
	}
	super, err := devices.New(gauges, devices.Options{
		OnReading: s.bench.Reading, OnHealth: s.bench.Health, BackoffMin: 5 * time.Millisecond, BackoffMax: 10 * time.Millisecond,
		OnFault: func(f devices.Fault) {
			s.bench.Fault(f)
			w.mu.Lock()
			w.refused[f.Gauge]++
			w.mu.Unlock()
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	t.Cleanup(func() {
		cancel()
		<-ended
		for _, l := range w.lines {
			_ = l.Close()
		}
	})
	w.quiet(carriage, height, beam)
	return w
}

func (w *wired) path(id string) string { return filepath.Join(w.dir, id) }

func (w *wired) plug(id string) {
	w.t.Helper()
	l, err := simulate.OpenLine(w.path(id))
	if err != nil {
		w.t.Fatal(err)
	}
	w.lines[id] = l
}

// pull takes a gauge away, as pulling its adapter does.
func (w *wired) pull(id string) {
	w.t.Helper()
	w.ok(w.lines[id].Close())
	delete(w.lines, id)
}

// quiet waits until the program has the lines open, and makes the next byte a frame's beginning: an end mark alone, which
// is refused.
func (w *wired) quiet(ids ...string) {
	w.t.Helper()
	for _, id := range ids {
		w.until(id+" is open", w.lines[id].Open)
		faults := func() int { w.mu.Lock(); defer w.mu.Unlock(); return w.refused[id] }
		before := faults()
		w.send(id, "\r\n")
		w.until(id+" stands between frames", func() bool { return faults() > before })
	}
}

func (w *wired) until(what string, ok func() bool) {
	w.t.Helper()
	for end := time.Now().Add(patience); !ok(); time.Sleep(2 * time.Millisecond) {
		if time.Now().After(end) {
			w.t.Fatalf("not within %v: %s; the page says %+v", patience, what, w.bench.Snapshot().Notice)
		}
	}
}

func (w *wired) send(id, bytes string) {
	w.t.Helper()
	w.ok(w.lines[id].Send([]byte(bytes), patience))
}

// asked is what the neck gives at a point, mm; no two that follow each other alike, or they would look like a bounce of the key.
func (w *wired) asked(p routine.Point) float64 {
	mm := good(p, w.bench.Snapshot().Batch.Spec.Spec)
	switch {
	case p.Point.Kind == batch.NutHeight:
		mm = math.Round(1000*mm+float64(p.Point.String)) / 1000
	case p.Point.Kind == batch.Crown && p.Point.Track == "treble":
		mm = math.Round(1000*mm+1) / 1000
	}
	return mm
}

// key presses a gauge's data key on a value and waits until the page says something new.
func (w *wired) key(id string, mm float64) *Snapshot {
	w.t.Helper()
	step := func(s *Snapshot) string {
		if s.Check == nil {
			return ""
		}
		return fmt.Sprintf("%+v", *s.Check)
	}
	before := w.bench.Snapshot()
	dip := ""
	if id == carriage { // to another place
		dip = strings.Repeat(fmt.Sprintf("A:%+.3fmm\r\n", mm-1), 2)
	}
	w.send(id, dip+fmt.Sprintf("K:%+.3fmm\r\n", mm))
	w.until("the press is answered", func() bool {
		now := w.bench.Snapshot()
		return now.Taken != before.Taken || now.Question != nil || now.Notice != before.Notice || step(now) != step(before)
	})
	return w.bench.Snapshot()
}

// point presses for the point asked for.
func (w *wired) point() {
	w.t.Helper()
	snap := w.bench.Snapshot()
	p := snap.Points[snap.Next]
	if p.Point.Kind == batch.PitchDeclared {
		w.ok(w.bench.Declare(w.ctx))
		return
	}
	if got := w.key(p.GaugeID, w.asked(p)); got.Taken != snap.Taken+1 {
		w.t.Fatalf("%s: %+v, held %+v", p.Words, got.Notice, got.Question)
	}
}

func (w *wired) again(ids ...string) {
	w.t.Helper()
	for _, id := range ids {
		w.ok(w.bench.CheckGauge(w.ctx, id))
		w.key(id, 0)
		w.key(id, 1)
		if c := w.bench.Snapshot().Check; c != nil {
			w.t.Fatalf("the check of %s goes on: %+v", id, c)
		}
	}
}

// pressed are the record's readings with a value: what no longer counts because the neck lies otherwise is among them.
func (w *wired) pressed() []batch.Reading {
	w.t.Helper()
	readings, err := w.db.Readings(w.ctx, w.bench.Snapshot().Inspection.ID)
	w.ok(err)
	return slices.DeleteFunc(readings, func(r batch.Reading) bool { return r.Withdrawn })
}

// kept checks that the record holds the readings that were taken, each with the value that was pressed.
func (w *wired) kept(want int) {
	w.t.Helper()
	snap := w.bench.Snapshot()
	readings := w.pressed()
	if len(readings) != want {
		w.t.Fatalf("the record has %d readings, pressed were %d", len(readings), want)
	}
	points := map[string]routine.Point{}
	for _, p := range snap.Points {
		points[p.Key] = p
	}
	for _, r := range readings {
		if r.Point.Kind == batch.PitchDeclared {
			continue
		}
		p := points[routine.Key(r.Point)]
		if mm := w.asked(p); r.Decoded != mm || !strings.Contains(string(r.Raw), r.Sent) {
			w.t.Errorf("%s: recorded %g from %q, pressed was %g", p.Words, r.Decoded, r.Raw, mm)
		}
	}
}

// pullAll sends a piece of a frame of each gauge, pulls and plugs them all: nothing more is taken, the page says so, and what
// they send is refused until they are checked.
func (w *wired) pullAll(half string, ids []string) {
	w.t.Helper()
	taken := len(w.pressed())
	for _, id := range ids {
		if half != "" {
			w.send(id, half)
		}
	}
	for _, id := range ids {
		w.until("the program has read what the "+id+" sent", func() bool {
			n, err := terminal.Unread(w.lines[id].Name())
			w.ok(err)
			return n == 0
		})
		w.pull(id)
	}
	for _, id := range ids {
		w.until(id+" is known to be gone", func() bool { s := w.line(id).State; return s == "unplugged" || s == "missing" })
	}
	kept := func(words string) bool { // where crowns no longer count their words say what becomes of them
		return strings.Contains(words, "Nothing taken so far is lost") || strings.Contains(words, "in the record")
	}
	if got := w.bench.Snapshot(); got.Notice == nil || !kept(got.Notice.Text) {
		w.t.Fatalf("pulled %v after %q: notice %+v", ids, half, got.Notice)
	}
	w.kept(taken)
	for _, id := range ids {
		w.plug(id)
	}
	w.quiet(ids...)
	p := w.bench.Snapshot()
	if got := w.key(carriage, w.asked(p.Points[p.Next])); len(w.pressed()) != taken || !strings.Contains(got.Notice.Text, "locked out") {
		w.t.Fatalf("after plugging in, unchecked: %d more readings, notice %+v", len(w.pressed())-taken, got.Notice)
	}
}

// TestGaugesPulled pulls the gauge in mid-frame, between two points and with another gauge at once, in the middle of a neck: nothing
// acknowledged is lost, no piece of a frame counts, the gauges must be checked, and the neck goes on to its verdict.
func TestGaugesPulled(t *testing.T) {
	w := wire(t, open(t))
	w.ok(w.bench.Entry(w.ctx, "QM-2611-0001", "mm"))
	w.point()
	w.point()
	w.point()
	for n, pulled := range []struct {
		half string // bytes of a press that come before
		ids  []string
	}{
		{"K:+0.12", []string{carriage}},
		{"K:+0.123mm\r", []string{carriage}},
		{"", []string{carriage}},
		{"K:", []string{carriage, height}},
	} {
		w.pullAll(pulled.half, pulled.ids)
		w.again(pulled.ids...)
		w.point()
		w.kept(4 + n)
	}
	for w.bench.Snapshot().Next >= 0 {
		w.point()
	}
	snap := w.bench.Snapshot()
	if snap.Verdict == nil || snap.Verdict.Disposition != "pass" {
		t.Fatalf("verdict %+v", snap.Verdict)
	}
	w.kept(len(w.pressed())) // each with its value
	w.ok(w.db.VerifyAudit(w.ctx))
}

// TestDiskFullOnTheLine: a press that the record cannot keep is refused in words on the page, counts nowhere, and the
// same point is asked for until there is room.
func TestDiskFullOnTheLine(t *testing.T) {
	w := wire(t, open(t))
	w.ok(w.bench.Entry(w.ctx, "QM-2611-0001", "mm"))
	w.point()
	w.point()
	before := w.bench.Snapshot()
	full := fmt.Errorf("keeping a reading: %w", record.ErrDiskFull)
	w.faulty.fail.Store(&full)
	p := before.Points[before.Next]
	for n := range 2 {
		got := w.key(carriage, w.asked(p)+float64(n+1)/1000) // another frame each time, which is no bounce of the key
		if got.Taken != before.Taken || got.Next != before.Next || !got.Notice.Refused ||
			!strings.Contains(got.Notice.Text, "NOT recorded") || !strings.Contains(got.Notice.Text, "the disk is full") {
			t.Fatalf("taken %d, next %d, notice %+v", got.Taken-before.Taken, got.Next, got.Notice)
		}
	}
	w.kept(2)
	w.faulty.fail.Store(nil)
	w.point()
	w.kept(3)
}
