package bench

import (
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
)

// silent sends a frame of the carriage indicator that ends a silence of so long.
func (s *shop) silent(lasting time.Duration, mm float64, key bool) {
	s.set(s.at().Add(lasting))
	s.hands(devices.Reading{
		Gauge: carriage, At: s.at(), Raw: []byte("frame"), Key: key, SilentSince: s.at().Add(-lasting), Decoder: "channel and value@test",
		Value: decode.Value{Digits: "+0.000", Unit: "mm", Value: mm, UnitNorm: "mm", MM: mm},
	})
}

// A gauge that was silent may have been switched off: not even the reading that ends the silence counts, the check says
// why it is needed, sets the zero anew where the gauge loses it without power and lets the gauge in again; a silence during a check begins it again.
func TestACheckIsDueAfterASilence(t *testing.T) {
	s := open(t)
	s.change(carriage, func(g *batch.Gauge) { g.LosesZero = batch.LosesWithPower })
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	taken := s.bench.Snapshot().Taken
	s.silent(3*time.Minute, 0.5, true)
	snap := s.bench.Snapshot()
	if snap.Taken != taken || !strings.Contains(snap.Notice.Text, "was silent from") || !strings.Contains(snap.Notice.Text, "it may have been switched off") {
		t.Fatalf("%d taken, notice %+v", snap.Taken-taken, snap.Notice)
	}
	due := func(want bool) {
		t.Helper()
		for _, g := range s.bench.Snapshot().Gauges {
			if g.ID == carriage && g.Due != want {
				t.Fatalf("due is %v: %s", g.Due, g.Words)
			}
		}
	}
	due(true)
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0.3, true)
	s.silent(5*time.Second, 0.3, false)
	if snap = s.bench.Snapshot(); snap.Check != nil || !strings.Contains(snap.Notice.Text, "begin the check again") {
		t.Fatalf("check %+v, notice %+v", snap.Check, snap.Notice)
	}
	s.ok(s.bench.CheckGauge(s.ctx, carriage))
	s.frame(carriage, 0.3, true) // its zero has jumped
	s.frame(carriage, 1.3, true)
	due(false)
	checks, err := s.db.GaugeChecks(s.ctx, carriage)
	s.ok(err)
	if last := checks[len(checks)-1]; last.After != batch.CheckSilence || !last.Good || last.ZeroMM != 0.3 ||
		last.Why != "zero moved by +0.300 mm, not judged: it loses its zero without power, and it had been silent and may have been switched off, 0.000 mm on the 1 mm master (allowed 0.020)" {
		t.Errorf("check %+v", last)
	}
	s.ok(s.bench.Choose(s.ctx, snap.Points[snap.Next].Key))
	s.frame(carriage, 1.1, true)
	if now := s.bench.Snapshot(); now.Taken <= taken || !now.Points[snap.Next].Taken {
		t.Errorf("after the check: %+v, held %+v", now.Notice, now.Question)
	}
}

// A gauge that is silent during its first check begins it again too: its zero may be another.
func TestSilenceDuringTheFirstCheck(t *testing.T) {
	s := open(t)
	g := gaugeOf(t, s, carriage)
	g.ID, g.Name = "new carriage", "new carriage indicator"
	_, err := s.db.SaveGauge(s.ctx, "Mara Quill", g)
	s.ok(err)
	s.ok(s.bench.ReloadGauges(s.ctx))
	s.ok(s.bench.CheckGauge(s.ctx, g.ID))
	s.frame(g.ID, 0.3, true)
	s.set(s.at().Add(time.Minute))
	s.hands(devices.Reading{Gauge: g.ID, At: s.at(), Raw: []byte("frame"), SilentSince: s.at().Add(-time.Minute), Decoder: "channel and value@test",
		Value: decode.Value{Digits: "+1.300", Unit: "mm", Value: 1.3, UnitNorm: "mm", MM: 1.3}})
	if snap := s.bench.Snapshot(); snap.Check != nil || !strings.Contains(snap.Notice.Text, "begin the check again") {
		t.Fatalf("check %+v, notice %+v", snap.Check, snap.Notice)
	}
	if all, err := s.db.GaugeChecks(s.ctx, g.ID); err != nil || len(all) != 0 {
		t.Errorf("recorded: %+v, %v", all, err)
	}
}

// gaugeOf is a gauge's entry.
func gaugeOf(t *testing.T, s *shop, id string) batch.Gauge {
	t.Helper()
	all, err := s.db.Gauges(s.ctx)
	s.ok(err)
	for _, g := range all {
		if g.ID == id {
			return g
		}
	}
	t.Fatalf("no gauge %s", id)
	return batch.Gauge{}
}
