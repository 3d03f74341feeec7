package bench

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// inspected brings the first neck to its verdict and the second one half through, and returns how its shape differs.
func (s *shop) inspected() func(routine.Point, float64) float64 {
	s.t.Helper()
	necks := 0.0
	own := func(p routine.Point, mm float64) float64 { // no two necks are alike
		if p.Point.Kind == batch.Crown && p.Point.Fret%2 == 1 {
			mm += 0.001 * necks
		}
		return mm
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if snap := s.finish(own); snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		s.t.Fatalf("verdict %+v", snap.Verdict)
	}
	s.ok(s.bench.Clear(s.ctx))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	necks++
	for range 60 {
		if snap := s.bench.Snapshot(); snap.Points[snap.Next].GaugeID == height || snap.Question != nil {
			break
		}
		s.press(own)
	}
	return own
}

func (s *shop) drop(id string) {
	s.t.Helper()
	s.ok(s.bench.ReportEvent(s.ctx, "Wren Halloway", id, batch.CheckDrop))
}

// TestDropDoubtsAtOnce: what rests on a gauge that fell is in doubt at once. Its next check clears it where the zero is found as it
// was, and what was measured counts again.
func TestDropDoubtsAtOnce(t *testing.T) {
	s := open(t)
	own := s.inspected()
	taken := s.bench.Snapshot().Taken
	s.drop(carriage)
	snap := s.bench.Snapshot()
	if want := "2 inspections rest on its readings since its last check that passed, 2026-11-02 07:00, and are in doubt until then."; !snap.Notice.Refused || !strings.Contains(snap.Notice.Text, want) {
		t.Errorf("notice %+v, want in it %q", snap.Notice, want)
	}
	if want := "The carriage indicator fell or was knocked at 2026-11-02 07:0"; snap.Counts.InDoubt != 2 || snap.Counts.MayShip() != 0 || !strings.Contains(snap.Doubt, want) ||
		!strings.Contains(snap.Doubt, "says Wren Halloway; its next check tells whether that moved its zero; its last check that passed was of 2026-11-02 07:00.") {
		t.Errorf("counts %+v, doubt %q", snap.Counts, snap.Doubt)
	}
	s.drop(carriage) // once more: no less is in doubt for it
	if n := s.bench.Snapshot().Notice; !strings.Contains(n.Text, "2 inspections rest on its readings since its last check that passed, 2026-11-02 07:00, and are in doubt until then.") {
		t.Errorf("after a second fall: %q", n.Text)
	}
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0.004, true)
	s.frame(carriage, 1.004, true)
	snap = s.bench.Snapshot()
	if want := "is checked: as found: zero moved by +0.004 mm, within the 0.020 mm allowed, 0.000 mm on the 1 mm master (allowed 0.020). 2 inspections are no longer in doubt."; !strings.Contains(snap.Notice.Text, want) {
		t.Errorf("notice %q, want in it %q", snap.Notice.Text, want)
	}
	if snap.Counts.InDoubt != 0 || snap.Counts.MayShip() != 1 || snap.Doubt != "" || snap.Taken != taken {
		t.Errorf("counts %+v, doubt %q, %d taken of %d", snap.Counts, snap.Doubt, snap.Taken, taken)
	}
	if snap = s.finish(func(p routine.Point, mm float64) float64 { return own(p, mm) }); snap.Verdict == nil {
		t.Errorf("the neck is not judged: %+v", snap.Notice)
	}
}

// TestDropWhoseCheckFails: a gauge that fell and whose zero has moved fails its check, and the doubt is the failed check's.
func TestDropWhoseCheckFails(t *testing.T) {
	s := open(t)
	s.inspected()
	s.drop(carriage)
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0.08, true)
	s.frame(carriage, 1.08, true)
	snap := s.bench.Snapshot()
	if want := "The carriage indicator failed its check: as found: zero moved by +0.080 mm, more than the 0.020 mm allowed"; !snap.Notice.Refused || !strings.Contains(snap.Notice.Text, want) ||
		!strings.Contains(snap.Notice.Text, "Stop QM-2611-0002 on the bench and QM-2611-0001: 2 inspections are in doubt") {
		t.Errorf("notice %+v", snap.Notice)
	}
	if snap.Counts.InDoubt != 2 || !strings.Contains(snap.Doubt, "failed its check of 2026-11-02") || strings.Contains(snap.Doubt, "fell") {
		t.Errorf("counts %+v, doubt %q", snap.Counts, snap.Doubt)
	}
	all, err := s.db.Doubts(s.ctx, batch.DoubtFilter{GaugeID: carriage})
	s.ok(err)
	if len(all) != 4 || all[0].Cause.Kind != batch.Dropped || all[0].Cleared != batch.ClearedFailed || all[2].Cause.Kind != batch.FailedCheck || all[2].Cleared != "" ||
		all[2].Cause.After != batch.CheckDrop || all[2].Cause.Found.ShiftMM != 0.08 || !all[2].Cause.Found.ShiftKnown {
		t.Errorf("doubts %+v", all)
	}
	s.check(carriage, 1) // found where it was: it moved back by as much
	s.check(carriage, 1)
	if snap = s.bench.Snapshot(); snap.Counts.InDoubt != 2 {
		t.Errorf("a later check clears what the first has found: %+v", snap.Counts)
	}
}

// TestDropThatNoCheckCanTell: where the zero went with the power, its check passes and clears nothing.
func TestDropThatNoCheckCanTell(t *testing.T) {
	s := open(t)
	s.inspected()
	s.change(carriage, func(g *batch.Gauge) { g.LosesZero = batch.LosesWithPower })
	s.drop(carriage)
	s.ok(s.bench.ReportEvent(s.ctx, "Wren Halloway", carriage, batch.CheckPowerUp))
	for range 2 { // nor does a second check
		s.ok(s.bench.CheckGauge(s.ctx, carriage))
		s.frame(carriage, 0.08, true)
		s.frame(carriage, 1.08, true)
		if c := s.latest(carriage); !c.Good {
			t.Fatalf("check %+v", c)
		}
		snap := s.bench.Snapshot()
		if snap.Counts.InDoubt != 2 || !strings.Contains(snap.Doubt, "its next check passed and could not tell whether that moved its zero") {
			t.Errorf("counts %+v, doubt %q", snap.Counts, snap.Doubt)
		}
	}
	checks, err := s.db.GaugeChecks(s.ctx, carriage)
	s.ok(err)
	if c := checks[len(checks)-2]; c.Untold != 2 || c.Proved != 0 {
		t.Errorf("check %+v", c)
	}
}

// TestFirstCheckThatFails names the neck to stop, whether something rests on the gauge or not.
func TestFirstCheckThatFails(t *testing.T) {
	s := open(t)
	fail := func(want string) {
		t.Helper()
		s.ok(s.bench.CheckGauge(s.ctx, height))
		s.frame(height, 0.08, true)
		s.frame(height, 1.08, true)
		if n := s.bench.Snapshot().Notice; !strings.HasSuffix(n.Text, want) {
			t.Errorf("notice %q, want at its end %q", n.Text, want)
		}
		s.check(height, 1)
		s.check(height, 1)
	}
	fail("Stop the next neck before this gauge: no inspection rests on what it measured since its last check that passed, 2026-11-02 07:00.")
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	fail("Stop QM-2611-0001 on the bench: nothing of it rests on this gauge, and nothing may be measured with it.")
}
