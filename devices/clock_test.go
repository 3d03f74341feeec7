package devices

import (
	"sync/atomic"
	"testing"
	"time"
)

// TestClockSetBackUnderTheLines: readings keep their order and their distance, a polled gauge is asked on, and a port
// that is lost is found again, while the clock is set back twice.
func TestClockSetBackUnderTheLines(t *testing.T) {
	inBubble(t, func(t *testing.T) {
		var back atomic.Int64
		now := func() time.Time { return time.Now().Round(0).Add(-time.Duration(back.Load())) } // a time of day alone
		w := newWire(t, "gauge")
		answer := func(string) string { return "+1.950\r" }
		w.answers(answer)
		b := run(t, Options{Open: wired(w), Now: now}, Gauge{ID: "probe", Path: w.name, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureStream})
		pass(3 * time.Second)
		for _, hour := range []int64{1, 3} {
			before := len(b.read())
			back.Store(hour * int64(time.Hour))
			if pass(3 * time.Second); len(b.read()) < before+2 {
				t.Errorf("%d readings in the 3 s after the clock was set back, want two or more", len(b.read())-before)
			}
		}
		for i := 1; i < len(b.read()); i++ {
			if gap := b.read()[i].At.Sub(b.read()[i-1].At); gap < 0 || gap > 3*time.Second {
				t.Errorf("reading %d came %v after the one before", i+1, gap)
			}
		}
		w.unplug()
		pass(time.Second)
		if got := b.state("probe"); got != StateUnplugged {
			t.Errorf("unplugged: %s", got)
		}
		back.Store(5 * int64(time.Hour))
		w.plug()
		w.answers(answer)
		pass(3 * time.Second)
		for _, h := range b.Health() {
			if h.Reconnections != 1 || h.State != StateLive || time.Since(h.Since) < 0 || h.Since.IsZero() {
				t.Errorf("health %+v", h)
			}
		}
	})
}
