package bench

import (
	"strings"
	"testing"
	"time"
)

// TestClockSetBack: no check holds for longer because the clock was set back, in a run or while the station was stopped;
// a correction of seconds changes nothing, and what is taken keeps its order.
func TestClockSetBack(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	s.set(s.at().Add(-30 * time.Second))
	s.press(nil)
	taken := s.bench.Snapshot().Taken
	s.set(s.at().Add(-3 * time.Hour))
	snap := s.bench.Snapshot()
	p := snap.Points[snap.Next]
	s.frame(carriage, good(p, snap.Batch.Spec.Spec), true)
	snap = s.bench.Snapshot()
	if snap.Taken != taken || !strings.Contains(snap.Notice.Text, "locked out") || !strings.Contains(snap.Notice.Text, "clock was set back from") {
		t.Fatalf("%d readings taken, notice %+v", snap.Taken-taken, snap.Notice)
	}
	for _, g := range snap.Gauges {
		if !g.Locked || !strings.Contains(g.Words, "clock was set back") {
			t.Errorf("%s", g.Words)
		}
	}
	again := func() {
		for _, g := range []string{carriage, height, beam} {
			s.ok(s.bench.CheckGauge(s.ctx, g))
			s.frame(g, 0, true)
			s.frame(g, 1, true)
		}
	}
	again()
	s.press(nil)
	snap = s.bench.Snapshot()
	if !snap.Points[snap.Next-1].Taken { // the carriage was off the neck
		t.Fatalf("after the checks: %+v", snap.Notice)
	}
	readings, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	back := 0
	for i := 1; i < len(readings); i++ {
		if readings[i].Seq <= readings[i-1].Seq {
			t.Errorf("reading %d came before %d", readings[i].Seq, readings[i-1].Seq)
		}
		if readings[i].At.Before(readings[i-1].At) {
			back++
		}
	}
	if back == 0 {
		t.Error("no reading is earlier than the one before: the clock was not set back")
	}

	s.set(s.at().Add(-2 * time.Hour)) // while the station is stopped
	s.restart()
	if n := s.bench.Snapshot(); n.Serial != "QM-2611-0001" || n.Taken <= taken {
		t.Errorf("%s with %d readings goes on", n.Serial, n.Taken)
	}
	for _, g := range s.bench.Snapshot().Gauges {
		if !g.Locked {
			t.Errorf("after the restart: %s", g.Words)
		}
	}
	again()
	if snap := s.finish(nil); snap.Verdict == nil || snap.Verdict.At.IsZero() {
		t.Errorf("verdict %+v", snap.Verdict)
	}
	s.ok(s.db.VerifyAudit(s.ctx))
}
