package devices

import (
	"testing"
	"time"
)

// A gauge that sends by itself and was silent for two seconds or more may have been switched off: its next reading says
// since when. A shorter silence, and the silence between the presses of a key, say nothing.
func TestAReadingAfterASilenceSaysSo(t *testing.T) {
	t.Parallel()
	dial, probe, key := newSocket(t), newSocket(t), newSocket(t)
	var c clock
	b := run(t, Options{Now: c.now},
		Gauge{ID: "dial", Path: dial.path, Decoder: builtin(t, "signed decimal with unit"), Capture: CaptureStream, SilentAfter: time.Second},
		Gauge{ID: "probe", Path: probe.path, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureRequest},
		keyGauge(t, key.path))
	eventually(t, "quiet ports", func() bool {
		c.move(readWait)
		return b.link("dial").proven.Load() && b.link("probe").proven.Load() && b.link("height").proven.Load()
	})
	silence := func(gauge string) (since []time.Duration) {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, r := range b.readings {
			if r.Gauge != gauge {
				continue
			}
			since = append(since, 0)
			if !r.SilentSince.IsZero() {
				since[len(since)-1] = r.At.Sub(r.SilentSince)
			}
		}
		return since
	}
	sends := func(s *socket, gauge, frame string) time.Duration {
		before := len(silence(gauge))
		s.send(frame)
		eventually(t, "the reading", func() bool { return len(silence(gauge)) > before })
		return silence(gauge)[before]
	}
	sends(dial, "dial", "+0.100mm\r\n")
	if got := sends(dial, "dial", "+0.101mm\r\n"); got != 0 {
		t.Errorf("without a silence: %v", got)
	}
	c.move(1500 * time.Millisecond)
	eventually(t, "silent", func() bool { return b.state("dial") == StateSilent })
	if got := sends(dial, "dial", "+0.102mm\r\n"); got != 0 {
		t.Errorf("after 1.5 s: %v", got)
	}
	eventually(t, "live", func() bool { return b.state("dial") == StateLive })
	c.move(3 * time.Minute)
	eventually(t, "silent again", func() bool { return b.state("dial") == StateSilent })
	c.move(time.Minute)
	if got := sends(dial, "dial", "+0.103mm\r\n"); got != 4*time.Minute {
		t.Errorf("after four minutes: %v", got)
	}
	if got := sends(dial, "dial", "+0.104mm\r\n"); got != 0 {
		t.Errorf("the reading after that: %v", got)
	}

	if got := sends(key, "height", "+1.950mm\r\n"); got != 0 {
		t.Errorf("a key: %v", got)
	}

	answers := func() time.Duration {
		t.Helper()
		if err := b.Ask("probe"); err != nil {
			t.Fatal(err)
		}
		probe.asked("R\r")
		return sends(probe, "probe", "+0.500\r")
	}
	answers()
	c.move(time.Hour) // nobody asked it
	if got := answers(); got != 0 {
		t.Errorf("asked after an hour: %v", got)
	}
	if err := b.Ask("probe"); err != nil {
		t.Fatal(err)
	}
	probe.asked("R\r")
	eventually(t, "no answer", func() bool { c.move(50 * time.Millisecond); return b.state("probe") == StateSilent })
	c.move(3 * time.Second)
	if got := answers(); got < 3*time.Second || got > time.Minute {
		t.Errorf("after a question without an answer: %v", got)
	}
}
