package bench

import (
	"testing"
	"time"
)

// The page says how many were judged in this hour by the shop's clock, also after the station was started again; in the next hour none.
func TestJudgedInThisHour(t *testing.T) {
	s := open(t)
	if got := s.bench.Snapshot().JudgedInHour; got != 0 {
		t.Errorf("%d judged before the first neck", got)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(nil)
	if got := s.bench.Snapshot().JudgedInHour; got != 1 {
		t.Errorf("%d judged, want 1", got)
	}
	s.restart()
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	if got := s.bench.Snapshot().JudgedInHour; got != 1 {
		t.Errorf("after a restart %d judged, want 1", got)
	}
	s.set(HourOf(s.at()).Add(time.Hour + time.Second))
	s.bench.Working("")
	if got := s.bench.Snapshot().JudgedInHour; got != 0 {
		t.Errorf("in the next hour %d judged, want none", got)
	}
}
