package app

import (
	"context"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/simulate"
	"sagitta/inspect/unit"
)

// TestOtherLinesStayOpen saves one gauge's entry, and then a new one: the line of the other, which sends meanwhile, stays the one that
// was open, and its gauge stays live, while that of the changed entry is opened anew.
func TestOtherLinesStayOpen(t *testing.T) {
	dir := t.TempDir()
	a, err := Open(t.Context(), Options{Dir: dir, Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}()
	enter := func(g batch.Gauge) batch.Gauge {
		t.Helper()
		saved, err := a.Record.SaveGauge(t.Context(), "Wren Halloway", g)
		if err == nil {
			err = a.Watch(t.Context())
		}
		if err != nil {
			t.Fatal(err)
		}
		return saved
	}
	gauge := func(name string) (batch.Gauge, *simulate.Line) {
		line, err := simulate.OpenLine(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = line.Close() })
		return batch.Gauge{Name: name, Path: filepath.Join(dir, name), Decoder: "signed decimal with unit", Sense: 1, ResolutionMM: 0.001, ZeroLimitMM: 0.01, Measures: []batch.Kind{batch.ActionHeight}}, line
	}
	var mu sync.Mutex
	states := map[string]devices.State{}
	a.lines.health.show = func(h devices.Health) {
		mu.Lock()
		defer mu.Unlock()
		states[h.Gauge] = h.State
	}
	state := func(id string) devices.State {
		mu.Lock()
		defer mu.Unlock()
		return states[id]
	}
	first, line := gauge("height gauge")
	first = enter(first)
	for end := time.Now().Add(time.Minute); state(first.ID) != devices.StateLive; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("the gauge is %s", state(first.ID))
		}
		_, _ = line.Write([]byte("+0.123mm\r\n"), time.Second) // fails until the station has opened the port
	}
	open := a.lines.open()[0]
	second, _ := gauge("dial")
	second = enter(second)
	second.Decoder = "decimal comma"
	before := a.lines.open()[1]
	second = enter(second)
	first.Name, first.ResolutionMM = "height gauge, long feet", 0.001
	first = enter(first) // a name is no part of a line
	if now := a.lines.open(); len(now) != 2 || now[0] != open || now[1] == before || state(first.ID) != devices.StateLive {
		t.Errorf("%d lines, the first kept: %v, the second kept: %v, the first is %s", len(now), now[0] == open, now[1] == before, state(first.ID))
	}
	second.Decoder = "signed decimal with unit"
	second.Path = first.Path // moves to the other's port: both are opened anew
	enter(second)
	if now := a.lines.open(); len(now) != 1 || now[0] == open || len(now[0].gauges) != 2 {
		t.Errorf("on one port: %d lines", len(now))
	}
}

// TestGaugesWithoutALineAreNotOpened: leaves in the record keep no other gauge's line from being opened.
func TestGaugesWithoutALineAreNotOpened(t *testing.T) {
	a, err := Open(t.Context(), Options{Dir: t.TempDir(), Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	}()
	for _, g := range []batch.Gauge{batch.Ordinary(batch.LeavesGauge, unit.Millimetre), {Name: "dial", Path: "/dev/nothing", Decoder: "decimal comma", Sense: 1, ResolutionMM: 0.01, Measures: []batch.Kind{batch.Crown}}} {
		if _, err := a.Record.SaveGauge(t.Context(), "Wren Halloway", g); err != nil {
			t.Fatal(err)
		}
	}
	if err := a.Watch(t.Context()); err != nil || len(a.lines.open()) != 1 {
		t.Errorf("%d lines, %v", len(a.lines.open()), err)
	}
}

// A gauge that is being identified is listened to no longer than the pages are there, whoever forgets to stop it.
func TestLearningEndsWithThePages(t *testing.T) {
	path := filepath.Join(t.TempDir(), "unknown")
	line, err := simulate.OpenLine(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = line.Close() }()
	pages, end := context.WithCancel(t.Context())
	var running sync.WaitGroup
	begun, ended := make(chan struct{}), make(chan error)
	go func() {
		var once sync.Once
		ended <- freeLines{pages, &running}.Learn(context.Background(), path, false, func(devices.Lesson) { once.Do(func() { close(begun) }) })
	}()
	select {
	case <-begun:
	case err := <-ended:
		t.Fatal(err)
	}
	end()
	<-ended
	running.Wait()
}
