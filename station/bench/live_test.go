package bench

import (
	"testing"
	"testing/synctest"
	"time"
)

// TestLiveFramesShareSnapshots: however many live frames come, and whatever commands come between, live frames cost at
// most a snapshot a turn; the newest frame is in the snapshot that is asked for, and a press is in it at once.
func TestLiveFramesShareSnapshots(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := open(t)
		s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
		s.press(nil)
		changed, stop := s.bench.Watch()
		defer stop()
		began, before := time.Now(), s.bench.Snapshot().Version
		commands := 0
		for n := range 4000 {
			time.Sleep(time.Millisecond)
			s.bench.Reading(s.made(carriage, float64(n)/1000, "mm", false, 10*time.Millisecond))
			if n%400 == 0 {
				s.bench.Working("")
				commands++
			}
		}
		took := time.Since(began)
		synctest.Wait()
		if snap := s.bench.Snapshot(); snap.Live.MM != 3.999 || !snap.Live.Fresh {
			t.Errorf("the newest frame is not shown: %+v", snap.Live)
		}
		// A turn that was due already comes sooner after a command: at most one more each.
		most := uint64(2*commands) + uint64(took/liveEvery) + 1
		made := s.bench.Snapshot().Version - before
		if least := uint64(took/liveEvery) - uint64(commands); made > most || made < least {
			t.Errorf("%d snapshots for 4000 live frames and %d commands, want from %d to %d", made, commands, least, most)
		}
		<-changed
		taken := s.bench.Snapshot().Taken
		s.press(nil)
		if got := s.bench.snap.Load(); got.Taken != taken+1 {
			t.Errorf("the press is not in the snapshot that is published: %d readings", got.Taken)
		}
		s.bench.Reading(s.made(carriage, 1.234, "mm", false, 10*time.Millisecond))
		time.Sleep(liveEvery)
		synctest.Wait()
		if got := s.bench.snap.Load(); got.Live.MM != 1.234 {
			t.Error("a single live frame is never published by itself")
		}
	})
}
