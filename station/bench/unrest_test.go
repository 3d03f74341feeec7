package bench

import (
	"strings"
	"testing"
	"time"

	"sagitta/devices"
	"sagitta/devices/decode"
)

// A frame that was thrown away says the true reason: the line was just opened, or a piece came before it.
func TestLostFrameSaysWhy(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	asked := s.bench.Snapshot().Points[s.bench.Snapshot().Next].GaugeID
	for offset, want := range map[int64]string{0: "after it was connected may lack its beginning", 6: "after a piece that was no whole reading"} {
		s.bench.Fault(devices.Fault{Gauge: asked, At: s.at(), Offset: offset, Raw: []byte("+0.061mm"), Fault: "garbled", Why: "x", Lost: true})
		if n := s.bench.Snapshot().Notice; n == nil || !n.Refused || !strings.Contains(n.Text, want) {
			t.Errorf("at byte %d: %+v, want %q", offset, n, want)
		}
	}
}

// A gauge that does not come to rest is told of once for each point, only while it is asked for.
func TestUnrestIsSaidOnce(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	asked := s.bench.Snapshot().Points[s.bench.Snapshot().Next].GaugeID
	wander := func(gauge string, u devices.Unrest) *Notice {
		s.set(s.at().Add(5 * time.Second))
		s.hands(devices.Reading{Gauge: gauge, At: s.at(), Value: decode.Value{Digits: "+0.440", Unit: "mm", Value: 0.44, UnitNorm: "mm", MM: 0.44}, Unrest: &u})
		return s.bench.Snapshot().Notice
	}
	other := beam
	if asked == beam {
		other = carriage
	}
	before := s.bench.Snapshot().Notice
	if n := wander(other, devices.Unrest{MovesMM: 0.006, MostMM: 0.002}); n != before {
		t.Errorf("a gauge that is not asked for: %+v", n)
	}
	first := wander(asked, devices.Unrest{MovesMM: 0.006, MostMM: 0.002})
	if first == nil || first.Refused || !strings.Contains(first.Text, "does not rest: it moves by 0.006 mm within 0.3 s, and may by 0.002 mm") {
		t.Fatalf("%+v", first)
	}
	if n := wander(asked, devices.Unrest{MovesMM: 0.007, MostMM: 0.002}); n != first {
		t.Errorf("said again: %+v", n)
	}
	s.press(nil)
	if n := wander(s.bench.Snapshot().Points[s.bench.Snapshot().Next].GaugeID, devices.Unrest{Every: 500 * time.Millisecond, Slow: true}); n == nil || !strings.Contains(n.Text, "every 0.5 s, too slowly") {
		t.Errorf("at the next point: %+v", n)
	}
}

// The foot switch and Space say that the gauge asked for is unplugged, whatever its way of capture.
func TestTakeFromAnUnpluggedGauge(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Declare(s.ctx))
	asked := s.bench.Snapshot().Points[s.bench.Snapshot().Next].GaugeID
	s.bench.Health(devices.Health{Gauge: asked, State: devices.StateUnplugged, Since: s.at(), ToDo: "Plug the gauge in again."})
	s.refused(s.bench.Take(s.ctx), "is unplugged: nothing was taken")
	s.refused(s.bench.FootPress(s.ctx, false), "Plug the gauge in again")
}
