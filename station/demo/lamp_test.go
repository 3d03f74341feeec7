package demo

import (
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"go.bug.st/serial"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/simulate"
	"sagitta/station/app"
	"sagitta/station/bench"
)

// lampPort is a port whose outgoing modem lines can be set, which those of a pseudo-terminal cannot.
type lampPort struct {
	serial.Port
	rts, dtr *atomic.Bool
}

func (p lampPort) SetRTS(on bool) error { p.rts.Store(on); return nil }
func (p lampPort) SetDTR(on bool) error { p.dtr.Store(on); return nil }

// TestLampFollowsTheBench runs the whole station with a lamp on a port of its own, and goes from what happens at the bench to the port's
// lines: green for a neck that passed, red for one that needs rework, amber for a question, dark while points are taken.
func TestLampFollowsTheBench(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lamp")
	line, err := simulate.OpenLine(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = line.Close() })
	var rts, dtr atomic.Bool
	d, end := startWith(t, app.Options{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0", Demo: true, Retry: 20 * time.Millisecond, OpenPort: func(name string, mode *serial.Mode) (serial.Port, error) {
		port, err := serial.Open(name, mode)
		if err != nil || name != path {
			return port, err
		}
		rts.Store(true) // as most systems open a port
		dtr.Store(true)
		return lampPort{port, &rts, &dtr}, nil
	}})
	t.Cleanup(end)
	ctx := t.Context()
	if _, err := d.Record.SaveGauge(ctx, manager, batch.Gauge{Name: "lamp", Path: path, Capture: devices.CaptureLamp, Sense: 1}); err != nil {
		t.Fatal(err)
	}
	if err := d.Watch(ctx); err != nil {
		t.Fatal(err)
	}
	shows := func(when string, green, red bool) {
		t.Helper()
		for end := time.Now().Add(patience); rts.Load() != green || dtr.Load() != red; time.Sleep(time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("%s: RTS %t, DTR %t, want %t, %t; the bench: %+v", when, rts.Load(), dtr.Load(), green, red, d.Bench.Snapshot().Sounds)
			}
		}
	}
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	const sound, bowed = "QM-2611-0001", "QM-2611-0004"
	ok(d.Bench.Entry(ctx, sound, "mm"))
	shows("a neck came", false, false)
	ok(d.hand.MeasureNeck(ctx))
	if got := d.Bench.Snapshot().Verdict.Disposition; got != "pass" {
		t.Fatalf("%s: %s", sound, got)
	}
	shows("passed", true, false)
	ok(d.Bench.Clear(ctx))
	ok(d.Bench.Entry(ctx, sound, "mm")) // it passed: is it to be inspected again?
	if d.Bench.Snapshot().Question == nil {
		t.Fatal("a neck that passed is not asked about")
	}
	shows("asked", true, true)
	ok(d.Bench.Answer(ctx, false))
	ok(d.Bench.Entry(ctx, bowed, "mm"))
	ok(d.Bench.Declare(ctx))
	shows("a point was taken", false, false)
	ok(d.hand.MeasureNeck(ctx))
	if s := d.Bench.Snapshot(); s.Stage != bench.Decided || s.Verdict.Disposition != "rework" {
		t.Fatalf("%s: %+v", bowed, s.Verdict)
	}
	shows("rework", false, true)
}
