package devices

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

func TestAskedGauge(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	var mu sync.Mutex
	var unanswered []string
	var c clock
	b := run(t, Options{Now: c.now, OnUnanswered: func(g string, waited time.Duration) {
		mu.Lock()
		unanswered = append(unanswered, g+" "+waited.String())
		mu.Unlock()
	}}, Gauge{ID: "probe", Path: s.path, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureRequest})
	eventually(t, "a quiet port", func() bool { c.move(readWait); return b.link("probe").proven.Load() }) // and nothing was sent to the gauge meanwhile
	if err := b.Ask("probe"); err != nil {
		t.Fatal(err)
	}
	if err := b.Ask("probe"); err == nil || !strings.Contains(err.Error(), "under way") {
		t.Errorf("a second request before the answer: %v", err)
	}
	s.asked("R\r")
	s.send("+0.500\r+0.700\r") // the second was not asked for
	eventually(t, "readings", func() bool { return slices.Equal(b.numbers("probe"), []string{"+0.500", "+0.700"}) })
	b.mu.Lock()
	first, second := b.readings[0].Key, b.readings[1].Key
	b.mu.Unlock()
	if !first || second {
		t.Errorf("to be used: %v, %v, want the answer alone", first, second)
	}

	if err := b.Ask("probe"); err != nil {
		t.Fatal(err)
	}
	s.asked("R\r")
	eventually(t, "silence is told", func() bool {
		c.move(100 * time.Millisecond)
		mu.Lock()
		defer mu.Unlock()
		return slices.Equal(unanswered, []string{"probe 500ms"})
	})
	eventually(t, "silence is seen", func() bool { return b.state("probe") == StateSilent })
	if h := b.Health()[0]; h.State != StateSilent || !strings.Contains(h.Words, "did not answer within 500ms") {
		t.Errorf("health %+v", h)
	}
	s.send("+0.600\r") // too late
	eventually(t, "the late answer", func() bool { return len(b.numbers("probe")) == 3 })
	b.mu.Lock()
	late := b.readings[2].Key
	b.mu.Unlock()
	if late {
		t.Error("an answer that came too late is to be used")
	}

	if err := b.Ask("probe"); err != nil {
		t.Fatal(err)
	}
	s.asked("R\r")
	s.send("+0.6x0\r")
	eventually(t, "the refused answer", func() bool { b.mu.Lock(); defer b.mu.Unlock(); return len(b.faults) == 1 })
	if err := b.Ask("probe"); err != nil {
		t.Errorf("after a refused answer: %v", err)
	}
	s.unplug()
	eventually(t, "the lost port ends the request", func() bool { mu.Lock(); defer mu.Unlock(); return len(unanswered) == 2 })
	var e *Error
	eventually(t, "unplugged", func() bool { return b.state("probe") == StateUnplugged })
	if err := b.Ask("probe"); !errors.As(err, &e) || e.Kind != Unplugged {
		t.Errorf("an unplugged gauge: %v", err)
	}
	if err := b.Ask("other"); err == nil || !strings.Contains(err.Error(), `no gauge "other"`) {
		t.Errorf("an unknown gauge: %v", err)
	}
}

// TestAskFromACallback asks where a foot switch would: on the goroutine that reads the gauge's own port.
func TestAskFromACallback(t *testing.T) {
	t.Parallel()
	s := newSocket(t)
	var super *Supervisor
	var c clock
	answers := make(chan Reading, 2)
	g := Gauge{ID: "probe", Path: s.path, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureRequest}
	super, err := New([]Gauge{g}, Options{Now: c.now, OnReading: func(r Reading) {
		answers <- r
		if len(r.Raw) > 0 && r.Value.Digits == "+0.500" {
			if err := super.Ask("probe"); err != nil {
				t.Error(err)
			}
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { super.Run(ctx); close(ended) }()
	defer func() { cancel(); <-ended }()
	eventually(t, "a quiet port", func() bool { c.move(readWait); return super.links[0].proven.Load() })
	s.send("+0.500\r")
	<-answers
	s.asked("R\r")
	s.send("+0.501\r")
	if r := <-answers; !r.Key || r.Value.Digits != "+0.501" {
		t.Errorf("answer %+v", r)
	}
}
