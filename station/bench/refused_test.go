package bench

import (
	"strings"
	"testing"
	"time"

	"sagitta/devices"
	"sagitta/station/bench/routine"
)

// TestRefusals sends what must not become a reading.
func TestRefusals(t *testing.T) {
	s := open(t)
	s.frame(carriage, 0.5, true)
	if n := s.bench.Snapshot().Notice; !n.Refused || !strings.Contains(n.Text, "no neck is on the bench") {
		t.Fatalf("notice %+v", n)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil) // pitch
	taken := s.bench.Snapshot().Taken
	s.frame(height, 1.95, true)
	if n := s.bench.Snapshot().Notice; !n.Refused || !strings.Contains(n.Text, "asked of the carriage indicator") {
		t.Fatalf("notice %+v", n)
	}
	s.set(s.at().Add(time.Second))
	overload := devices.Reading{Gauge: carriage, At: s.at(), Raw: []byte("K:OVER\r\n"), Key: true}
	overload.Value.Status = "overload"
	s.hands(overload)
	if n := s.bench.Snapshot().Notice; !n.Refused || !strings.Contains(n.Text, "overload") {
		t.Fatalf("notice %+v", n)
	}
	if got := s.bench.Snapshot().Taken; got != taken {
		t.Fatalf("%d readings were recorded", got-taken)
	}
	s.press(nil)
	// The cable is pulled: the gauge is locked out until it is checked again.
	s.bench.Health(devices.Health{Gauge: carriage, State: devices.StateUnplugged, Since: s.at()})
	s.set(s.at().Add(time.Second))
	s.bench.Health(devices.Health{Gauge: carriage, State: devices.StateWaiting, Since: s.at(), Reconnections: 1})
	before := s.bench.Snapshot()
	s.frame(carriage, 0.4, true)
	after := s.bench.Snapshot()
	if after.Taken != before.Taken || !strings.Contains(after.Notice.Text, "locked out") || !after.Gauges[0].Locked {
		t.Fatalf("taken %d, notice %+v, gauge %+v", after.Taken-before.Taken, after.Notice, after.Gauges[0])
	}
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0.017, true)
	s.frame(carriage, 1.017, true)
	if g := s.bench.Snapshot().Gauges[0]; g.Locked {
		t.Fatalf("still locked: %s", g.Words)
	}
	s.press(func(_ routine.Point, mm float64) float64 { return mm + 0.017 })
	if snap := s.bench.Snapshot(); snap.Taken != before.Taken+1 {
		t.Fatalf("after its check the gauge is still not used: %+v", snap.Notice)
	}
}

// TestFailedCheckLocks keeps a gauge that misreads its master out of verdicts.
func TestFailedCheckLocks(t *testing.T) {
	s := open(t)
	s.ok(s.bench.CheckGauge(s.ctx, height))
	s.frame(height, 0, true)
	s.frame(height, 1.05, true)
	snap := s.bench.Snapshot()
	if l := snap.Live; !l.Has || l.GaugeID != height || l.MM != 1.05 {
		t.Errorf("the live reading is %+v, want the checked gauge's 1.05 mm", l)
	}
	if !snap.Gauges[1].Locked || !snap.Notice.Refused || !strings.Contains(snap.Notice.Text, "+0.050 mm on the 1 mm master") {
		t.Fatalf("gauge %+v, notice %+v", snap.Gauges[1], snap.Notice)
	}
	checks, err := s.db.GaugeChecks(s.ctx, height)
	s.ok(err)
	if len(checks) != 2 {
		t.Fatalf("%d checks recorded, want the good one and the failed one", len(checks))
	}
	// Eight hours later every check is overdue.
	s.set(s.at().Add(9 * time.Hour))
	s.restart()
	for _, g := range s.bench.Snapshot().Gauges {
		if !g.Locked {
			t.Errorf("%s may judge nine hours after its check: %s", g.Name, g.Words)
		}
	}
}

// TestQuestions holds odd readings until a person answers.
func TestQuestions(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	held := func(want string) *Snapshot {
		t.Helper()
		snap := s.bench.Snapshot()
		if snap.Question == nil || !strings.Contains(snap.Question.Asks, want) {
			t.Fatalf("held %+v (notice %+v), want a question with %q", snap.Question, snap.Notice, want)
		}
		return snap
	}
	before := s.bench.Snapshot().Taken
	s.frameAs(carriage, 0.5, "in", true, time.Second)
	held("unit changed from mm to in")
	s.frame(carriage, 0.5, true) // while a question stands, nothing is taken
	if n := s.bench.Snapshot().Notice; !n.Refused {
		t.Fatalf("notice %+v", n)
	}
	s.ok(s.bench.Answer(s.ctx, false))
	s.frameAs(carriage, 13, "mm", true, time.Second)
	held("travel of 12.5 mm")
	s.ok(s.bench.Answer(s.ctx, false))
	if got := s.bench.Snapshot().Taken; got != before {
		t.Fatalf("%d questioned readings were recorded", got-before)
	}
	s.press(nil)
	last := s.bench.Snapshot()
	value := last.Points[last.Next-1].Value
	s.frameAs(carriage, value, "mm", true, 100*time.Millisecond)
	if snap := held("came twice"); !snap.Question.Bounce {
		t.Fatal("not known as a bounce")
	}
	s.ok(s.bench.Answer(s.ctx, true))
	readings, err := s.db.Readings(s.ctx, last.Inspection.ID)
	s.ok(err)
	if r := readings[len(readings)-1]; !strings.Contains(r.Reason, "came twice") {
		t.Fatalf("the record does not say why it was used: %+v", r)
	}
	s.refused(s.bench.Answer(s.ctx, true), "no reading is questioned")
}

// TestSameProfileTwice asks when a neck repeats the one before, reading by reading.
func TestSameProfileTwice(t *testing.T) {
	s := open(t)
	for _, serial := range []string{"QM-2611-0001", "QM-2611-0002"} {
		s.ok(s.bench.Entry(s.ctx, serial, "mm"))
		for s.bench.Snapshot().Next >= 0 && s.bench.Snapshot().Question == nil {
			s.press(nil)
		}
		if serial == "QM-2611-0001" {
			s.ok(s.bench.Clear(s.ctx))
		}
	}
	snap := s.bench.Snapshot()
	if snap.Question == nil || !strings.Contains(snap.Question.Asks, "equal those of QM-2611-0001") {
		t.Fatalf("held %+v at point %d", snap.Question, snap.Next)
	}
}

// TestDiskFull loses nothing that was acknowledged and counts nothing that was not.
func TestDiskFull(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	before := s.bench.Snapshot()
	s.faulty.fail.Store(&errFull)
	s.frame(carriage, 0.9, true)
	after := s.bench.Snapshot()
	if after.Taken != before.Taken || after.Next != before.Next || !strings.Contains(after.Notice.Text, "NOT recorded") {
		t.Fatalf("taken %d, next %d, notice %+v", after.Taken-before.Taken, after.Next, after.Notice)
	}
	// A held reading is not lost either: its question stands until the answer is recorded.
	s.faulty.fail.Store(nil)
	s.frameAs(carriage, 0.3, "in", true, time.Second)
	s.faulty.fail.Store(&errFull)
	s.refused(s.bench.Answer(s.ctx, true), "NOT recorded")
	if h := s.bench.Snapshot().Question; h == nil || h.MM != 0.3 {
		t.Fatalf("held %+v", h)
	}
	s.faulty.fail.Store(nil)
	s.ok(s.bench.Answer(s.ctx, false))
	s.press(nil)
	if got := s.bench.Snapshot().Taken; got != before.Taken+1 {
		t.Fatalf("after space was made %d readings came, want 1", got-before.Taken)
	}
}
