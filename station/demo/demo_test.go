package demo

import (
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices/simulate"
	"sagitta/station/app"
)

// TestGaugeEntryThatCannotBeUsed leaves the open lines as they are; entries that change at the same time leave one set of
// lines open.
func TestGaugeEntryThatCannotBeUsed(t *testing.T) {
	d, err := Open(t.Context(), app.Options{Dir: t.TempDir(), Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	var changes sync.WaitGroup
	for range 4 {
		changes.Go(func() {
			if err := d.Watch(t.Context()); err != nil {
				t.Error(err)
			}
		})
	}
	changes.Wait()
	if err := d.waitForGauges(t.Context()); err != nil {
		t.Fatal(err)
	}
	beside := entryOf(d.sim.Gauges()[0]) // on the same port with another decoder
	beside.ID, beside.Name, beside.Decoder, beside.KeyChannel = "", "second indicator", simulate.SignedMillimetres.Decoder, ""
	if _, err := d.Record.SaveGauge(t.Context(), manager, beside); err != nil {
		t.Fatal(err)
	}
	if err := d.Watch(t.Context()); err == nil || !strings.Contains(err.Error(), "shares its port") {
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

// TestDemoEndsAtWork ends the demo while its inspector works unattended: the deed in progress is finished first, the
// neck waits where it was, and nothing is said to the bench after that.
func TestDemoEndsAtWork(t *testing.T) {
	opt := app.Options{Dir: t.TempDir(), Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}
	d, err := Open(t.Context(), opt, 1)
	if err != nil {
		t.Fatal(err)
	}
	changed, stop := d.Bench.Watch()
	defer stop()
	if err := d.hand.Unattended(t.Context()); err != nil {
		t.Fatal(err)
	}
	for d.Bench.Snapshot().Taken < 5 {
		<-changed
	}
	if err := d.Close(); err != nil {
		t.Error(err)
	}
	last := d.Bench.Snapshot()
	if last.Notice != nil && last.Notice.Refused {
		t.Errorf("the bench was told %q", last.Notice.Text)
	}
	if d, err = Open(t.Context(), opt, 1); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	if now := d.Bench.Snapshot(); now.Serial != last.Serial || now.Taken < last.Taken { // what no longer counts is noted besides
		t.Errorf("%s comes back with %d readings, it was left as %s with %d", now.Serial, now.Taken, last.Serial, last.Taken)
	}
}

// TestSlipsAreRefused: what the bench's buttons cannot do now is a conflict, a gauge that is not simulated is absent.
func TestSlipsAreRefused(t *testing.T) {
	d, err := Open(t.Context(), app.Options{Dir: t.TempDir(), Name: "bench 1", Demo: true, Retry: 10 * time.Millisecond}, 1)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	for _, c := range []struct {
		what string
		do   func() error
		kind batch.ErrorKind
		says string
	}{
		{"press", func() error { return d.hand.Press(t.Context()) }, batch.Conflict, "asks for nothing now"},
		{"neck", func() error { return d.hand.MeasureNeck(t.Context()) }, batch.Conflict, "no neck is being measured"},
		{"pull", func() error { return d.hand.Pull(t.Context(), "anvil") }, batch.Absent, `no simulated gauge "anvil"; there are carriage, height, beam, place`},
		{"plug", func() error { return d.hand.Plug(t.Context(), "") }, batch.Absent, "there are carriage"},
	} {
		if err := c.do(); batch.KindOf(err) != c.kind || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v (%v), want %v with %q", c.what, err, batch.KindOf(err), c.kind, c.says)
		}
	}
}
