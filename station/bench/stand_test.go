package bench

import (
	"strings"
	"testing"
	"time"

	"sagitta/devices"
)

// A placement read by hand before the gauge rested is not read once more by its rest for the next point, and neither is a
// second press without a lift; lifted and set down again it is read; the same point may be read again where it stands.
func TestAPlacementServesOnePoint(t *testing.T) {
	s := open(t)
	entries, err := s.db.Gauges(s.ctx)
	s.ok(err)
	for _, g := range entries {
		if g.ID == carriage {
			g.Capture, g.KeyChannel = devices.CaptureSettled, ""
			must(t)(s.db.SaveGauge(s.ctx, "", g))
		}
	}
	s.ok(s.bench.ReloadGauges(s.ctx))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil) // the pitch
	const soon = 100 * time.Millisecond
	shows := func(mm float64, rest bool) { s.t.Helper(); s.frameAs(carriage, mm, "mm", rest, soon) }
	taken := func(n int) {
		t.Helper()
		if got := s.bench.Snapshot(); got.Taken != n || got.Question != nil {
			t.Fatalf("%d taken, want %d; held %+v, notice %+v", got.Taken, n, got.Question, got.Notice)
		}
	}
	shows(-2, false)
	shows(0.700, false)
	s.ok(s.bench.Take(s.ctx)) // before it rests
	taken(2)
	shows(0.701, false)
	shows(0.702, true) // its rest
	taken(2)
	s.set(s.at().Add(time.Second))
	shows(0.701, false)
	s.ok(s.bench.Take(s.ctx))
	s.holds("has not left its place since it read bass side, fret 1", 2)
	shows(-2, false) // one frame alone may be a disturbance
	shows(0.702, true)
	taken(2)
	shows(-0.4, false)
	shows(-0.4, false)
	shows(0.640, true)
	taken(3)

	shows(0.641, false)
	s.set(s.at().Add(time.Second))
	s.ok(s.bench.Undo(s.ctx))
	n := s.bench.Snapshot().Taken
	shows(0.641, false)
	s.ok(s.bench.Take(s.ctx)) // the same point where it stands
	taken(n + 1)
}

// A gauge that sends all the time is not read twice by one bouncing or nervous press: nobody moves it within 0.4 s.
func TestASecondPressTooSoonTakesNothing(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.frame(carriage, 0.700, false)
	s.ok(s.bench.Take(s.ctx))
	n := s.bench.Snapshot().Taken
	s.frameAs(carriage, 0.701, "mm", false, 200*time.Millisecond)
	s.refused(s.bench.Take(s.ctx), "less than 400 ms before")
	if got := s.bench.Snapshot(); got.Taken != n || got.Question != nil || strings.Contains(got.Notice.Text, "lifted") {
		t.Fatalf("%d taken, %+v", got.Taken-n, got.Notice)
	}
	s.dips(carriage, 250*time.Millisecond)
	s.frameAs(carriage, 0.651, "mm", false, 50*time.Millisecond)
	s.ok(s.bench.Take(s.ctx))
	if got := s.bench.Snapshot(); got.Taken != n+1 {
		t.Fatalf("%+v", got.Notice)
	}
}
