package devices

import (
	"context"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"
)

// bench is a running Supervisor that remembers what it reported.
type bench struct {
	*Supervisor
	mu       sync.Mutex
	readings []Reading
	faults   []Fault
	feet     []FootPress
	vain     []string // what Ask brought no answer to: the gauge and how long it was waited for
	states   map[string][]State
	bytes    map[string]int // by the first gauge behind the port
	stop     func()
}

func run(t *testing.T, opt Options, gauges ...Gauge) *bench {
	t.Helper()
	b := &bench{states: map[string][]State{}, bytes: map[string]int{}}
	opt.OnBytes = b.count
	opt.BackoffMin, opt.BackoffMax = 5*time.Millisecond, 20*time.Millisecond
	then := opt.OnReading
	opt.OnReading = func(r Reading) {
		b.mu.Lock()
		b.readings = append(b.readings, r)
		b.mu.Unlock()
		if then != nil {
			then(r)
		}
	}
	opt.OnFootPress = func(p FootPress) { b.mu.Lock(); b.feet = append(b.feet, p); b.mu.Unlock() }
	opt.OnUnanswered = func(gauge string, waited time.Duration) {
		b.mu.Lock()
		b.vain = append(b.vain, gauge+" "+waited.String())
		b.mu.Unlock()
	}
	opt.OnFault = func(f Fault) { b.mu.Lock(); b.faults = append(b.faults, f); b.mu.Unlock() }
	opt.OnHealth = func(h Health) {
		b.mu.Lock()
		b.states[h.Gauge] = append(b.states[h.Gauge], h.State)
		b.mu.Unlock()
	}
	b.Supervisor, b.stop = start(t, opt, gauges...)
	return b
}

// start has gauges watched until stop is called, at the latest until the test is over.
func start(t testing.TB, opt Options, gauges ...Gauge) (s *Supervisor, stop func()) {
	t.Helper()
	s, err := New(gauges, opt)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { s.Run(ctx); close(ended) }()
	stop = func() { cancel(); <-ended }
	t.Cleanup(stop)
	return s, stop
}

func (b *bench) numbers(gauge string) (all []string) {
	for _, r := range b.of(gauge) {
		all = append(all, r.Value.Digits)
	}
	return all
}

// read gives every reading so far.
func (b *bench) read() []Reading {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.readings)
}

// of gives a gauge's readings so far.
func (b *bench) of(gauge string) []Reading {
	return slices.DeleteFunc(b.read(), func(r Reading) bool { return r.Gauge != gauge })
}

// refused gives every fault so far.
func (b *bench) refused() []Fault {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.faults)
}

// presses gives every press of a foot switch so far.
func (b *bench) presses() []FootPress {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.feet)
}

// unanswered gives what Ask brought no answer to so far.
func (b *bench) unanswered() []string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.vain)
}

// used lists a gauge's readings, and whether each is to be used.
func (b *bench) used(gauge string) (all []string) {
	for _, r := range b.of(gauge) {
		all = append(all, fmt.Sprint(r.Value.Digits, " ", r.Key))
	}
	return all
}

func (b *bench) state(gauge string) State { return b.watch(gauge).now().State }

func (b *bench) history(gauge string) []State {
	b.mu.Lock()
	defer b.mu.Unlock()
	return slices.Clone(b.states[gauge])
}

// went waits until a gauge has come to as many states as are given, and compares them.
func (b *bench) went(t *testing.T, gauge string, want ...State) {
	t.Helper()
	eventually(t, "the states", func() bool { return len(b.history(gauge)) >= len(want) })
	if got := b.history(gauge); !slices.Equal(got, want) {
		t.Errorf("states %q, want %q", got, want)
	}
}

func keyGauge(t *testing.T, path string) Gauge {
	return Gauge{ID: "height", Path: path, Decoder: builtin(t, "signed decimal with unit"), Capture: CaptureKey}
}

// quiet waits until a freshly opened port counts as standing between frames.
func (b *bench) quiet(t *testing.T, gauge string) {
	eventually(t, "a quiet port", func() bool { return b.state(gauge) == StateWaiting && b.link(gauge).proven.Load() })
}

// standing waits until every port counts as standing between frames.
func standing(t testing.TB, s *Supervisor) {
	t.Helper()
	eventually(t, "quiet ports", func() bool {
		return !slices.ContainsFunc(s.links, func(l *link) bool { return !l.proven.Load() })
	})
}
