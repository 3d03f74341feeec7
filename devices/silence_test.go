package devices

import (
	"testing"
	"testing/synctest"
	"time"
)

// A gauge that sends by itself and was silent for two seconds or more may have been switched off: its next reading says
// since when. A shorter silence, and the silence between the presses of a key, say nothing.
func TestAReadingAfterASilenceSaysSo(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		dial, probe, key := newWire(t, "dial"), newWire(t, "probe"), newWire(t, "key")
		b := run(t, Options{Open: wired(dial, probe, key)},
			Gauge{ID: "dial", Path: dial.name, Decoder: builtin(t, "signed decimal with unit"), Capture: CaptureStream, SilentAfter: time.Second},
			Gauge{ID: "probe", Path: probe.name, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureRequest},
			keyGauge(t, key.name))
		pass(time.Second)
		// sends gives how long the gauge was silent before a frame, by the reading.
		sends := func(w *wire, frame string) time.Duration {
			t.Helper()
			before := len(b.read())
			w.send(frame)
			synctest.Wait()
			if len(b.read()) != before+1 {
				t.Fatalf("%q gave %d readings, want one", frame, len(b.read())-before)
			}
			r := b.read()[before]
			if r.SilentSince.IsZero() {
				return 0
			}
			return r.At.Sub(r.SilentSince)
		}
		sends(dial, "+0.100mm\r\n")
		if got := sends(dial, "+0.101mm\r\n"); got != 0 {
			t.Errorf("without a silence: %v", got)
		}
		pass(1500 * time.Millisecond)
		if got := sends(dial, "+0.102mm\r\n"); got != 0 {
			t.Errorf("after 1.5 s: %v", got)
		}
		pass(4 * time.Minute)
		if got := b.state("dial"); got != StateSilent {
			t.Errorf("after four minutes: %s", got)
		}
		if got := sends(dial, "+0.103mm\r\n"); got != 4*time.Minute {
			t.Errorf("after four minutes: %v", got)
		}
		if got := sends(dial, "+0.104mm\r\n"); got != 0 {
			t.Errorf("the reading after that: %v", got)
		}

		if got := sends(key, "+1.950mm\r\n"); got != 0 {
			t.Errorf("a key: %v", got)
		}

		ask := func() {
			t.Helper()
			if err := b.Ask("probe"); err != nil {
				t.Fatal(err)
			}
			probe.asked("R\r")
		}
		ask()
		sends(probe, "+0.500\r")
		pass(5 * time.Minute) // nobody asked it
		ask()
		if got := sends(probe, "+0.500\r"); got != 0 {
			t.Errorf("asked after five minutes: %v", got)
		}
		ask()
		pass(10 * time.Second) // no answer
		if got := b.state("probe"); got != StateSilent {
			t.Errorf("without an answer: %s", got)
		}
		ask()
		if got := sends(probe, "+0.500\r"); got < 10*time.Second || got > 10*time.Second+readWait {
			t.Errorf("after a question without an answer, 10 s before: %v", got)
		}
	})
}
