package devices

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

func TestAskedGauge(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		b := run(t, Options{Open: wired(w)},
			Gauge{ID: "probe", Path: w.name, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureRequest})
		b.quiet(t, "probe") // and nothing was sent to the gauge meanwhile
		if err := b.Ask("probe"); err != nil {
			t.Fatal(err)
		}
		if err := b.Ask("probe"); err == nil || !strings.Contains(err.Error(), "under way") {
			t.Errorf("a second request before the answer: %v", err)
		}
		w.asked("R\r")
		w.send("+0.500\r+0.700\r") // the second was not asked for
		synctest.Wait()
		if got := b.used("probe"); !slices.Equal(got, []string{"+0.500 true", "+0.700 false"}) {
			t.Errorf("readings, and whether they are to be used: %q", got)
		}

		if err := b.Ask("probe"); err != nil {
			t.Fatal(err)
		}
		w.asked("R\r")
		pass(490 * time.Millisecond)
		if len(b.unanswered()) != 0 {
			t.Errorf("unanswered too early: %q", b.unanswered())
		}
		pass(30 * time.Millisecond)
		if h := b.Health()[0]; !slices.Equal(b.unanswered(), []string{"probe 500ms"}) || h.State != StateSilent || !strings.Contains(h.Words, "did not answer within 500ms") {
			t.Errorf("unanswered %q, health %+v", b.unanswered(), h)
		}
		w.send("+0.600\r") // too late
		synctest.Wait()
		if got := b.used("probe"); len(got) != 3 || got[2] != "+0.600 false" {
			t.Errorf("with the late answer: %q", got)
		}

		if err := b.Ask("probe"); err != nil {
			t.Fatal(err)
		}
		w.asked("R\r")
		w.send("+0.6x0\r")
		synctest.Wait()
		if len(b.refused()) != 1 {
			t.Errorf("faults %+v", b.refused())
		}
		if err := b.Ask("probe"); err != nil {
			t.Errorf("after a refused answer: %v", err)
		}
		w.asked("R\r")
		w.unplug()
		synctest.Wait()
		if len(b.unanswered()) != 2 || b.state("probe") != StateUnplugged {
			t.Errorf("the lost port: unanswered %q, state %s", b.unanswered(), b.state("probe"))
		}
		var e *Error
		if err := b.Ask("probe"); !errors.As(err, &e) || e.Kind != Unplugged {
			t.Errorf("an unplugged gauge: %v", err)
		}
		if err := b.Ask("other"); err == nil || !strings.Contains(err.Error(), `no gauge "other"`) {
			t.Errorf("an unknown gauge: %v", err)
		}
	})
}

// TestAskFromACallback asks where a foot switch would: on the goroutine that reads the gauge's own port.
func TestAskFromACallback(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		w := newWire(t, "gauge")
		var b *bench
		b = run(t, Options{Open: wired(w), OnReading: func(r Reading) {
			if r.Value.Digits == "+0.500" {
				if err := b.Ask("probe"); err != nil {
					t.Error(err)
				}
			}
		}}, Gauge{ID: "probe", Path: w.name, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureRequest})
		b.quiet(t, "probe")
		w.send("+0.500\r")
		w.asked("R\r")
		w.send("+0.501\r")
		synctest.Wait()
		if got := b.used("probe"); !slices.Equal(got, []string{"+0.500 false", "+0.501 true"}) {
			t.Errorf("readings, and whether they are to be used: %q", got)
		}
	})
}
