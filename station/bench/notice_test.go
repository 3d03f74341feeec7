package bench

import (
	"strings"
	"testing"
	"time"
)

// What was said goes when the bench moves on: a check begins, a reading is questioned, the neck goes away.
func TestNoticesEnd(t *testing.T) {
	s := open(t)
	gone := func(after string) {
		t.Helper()
		if n := s.bench.Snapshot().Notice; n != nil {
			t.Errorf("%s the page still says %q", after, n.Text)
		}
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	s.refused(s.bench.Entry(s.ctx, "500", "mm"), "within 100 mm")
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	gone("during a check")
	s.ok(s.bench.CancelCheck(s.ctx))
	s.press(nil)
	s.refused(s.bench.Entry(s.ctx, "500", "mm"), "within 100 mm")
	s.frameAs(carriage, 0.3, "in", true, time.Second)
	if s.bench.Snapshot().Question == nil {
		t.Fatal("a unit that changed is not held with a question")
	}
	gone("with a questioned reading")
	s.ok(s.bench.Answer(s.ctx, false))
	s.finish(nil)
	s.ok(s.bench.Clear(s.ctx))
	gone("without a neck")
}

// A point that cannot be measured counts as done, wherever points are counted.
func TestSkippedPointsAreDone(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	s.ok(s.bench.Skip(s.ctx))
	s.ok(s.bench.Skip(s.ctx))
	s.ok(s.bench.Park(s.ctx, ""))
	if p := s.bench.Snapshot().Waiting.Parked; len(p) != 1 || p[0].Taken != 3 {
		t.Errorf("parked %+v, want 3 points done", p)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if n := s.bench.Snapshot().Notice; n == nil || !strings.Contains(n.Text, ": 3 of ") {
		t.Errorf("%+v", n)
	}
}
