package devices

import (
	"sync/atomic"
	"testing"
	"time"
)

// TestClockSetBackUnderTheLines: readings keep their order and their distance, a polled gauge is asked on, and a port
// that is lost is found again, while the clock is set back twice.
func TestClockSetBackUnderTheLines(t *testing.T) {
	t.Parallel()
	var back atomic.Int64
	now := func() time.Time { return time.Now().Round(0).Add(-time.Duration(back.Load())) } // a time of day alone
	s := newSocket(t)
	b := run(t, Options{Now: now}, Gauge{ID: "probe", Path: s.path, Decoder: builtin(t, "polled signed decimal, millimetres"), Capture: CaptureStream})
	asked := make(chan bool)
	go func() {
		s.mu.Lock()
		master := s.master
		s.mu.Unlock()
		ask := make([]byte, 2)
		for {
			if _, err := master.Read(ask); err != nil {
				close(asked)
				return
			}
			if _, err := master.WriteString("+1.950\r"); err != nil {
				close(asked)
				return
			}
		}
	}()
	n := func() int { return len(b.numbers("probe")) }
	eventually(t, "a reading", func() bool { return n() >= 1 })
	for _, hour := range []int64{1, 3} {
		before := n()
		back.Store(hour * int64(time.Hour))
		eventually(t, "two more readings", func() bool { return n() >= before+2 })
	}
	b.mu.Lock()
	for i := 1; i < len(b.readings); i++ {
		if gap := b.readings[i].At.Sub(b.readings[i-1].At); gap < 0 || gap > 5*time.Minute {
			t.Errorf("reading %d came %v after the one before", i+1, gap)
		}
	}
	b.mu.Unlock()
	s.unplug()
	<-asked
	eventually(t, "unplugged", func() bool { return b.state("probe") == StateUnplugged })
	back.Store(5 * int64(time.Hour))
	s.plug()
	eventually(t, "open again", func() bool { return b.watch("probe").now().Reconnections == 1 })
	for _, h := range b.Health() {
		if time.Since(h.Since) < 0 || h.Since.IsZero() {
			t.Errorf("health %+v", h)
		}
	}
}
