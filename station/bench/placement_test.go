package bench

import (
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
)

// carriageBy has the carriage's indicator captured in another way.
func (s *shop) carriageBy(capture, keyChannel string) {
	s.t.Helper()
	entries, err := s.db.Gauges(s.ctx)
	s.ok(err)
	for _, g := range entries {
		if g.ID == carriage {
			g.Capture, g.KeyChannel = capture, keyChannel
			must(s.t)(s.db.SaveGauge(s.ctx, "", g))
		}
	}
	s.ok(s.bench.ReloadGauges(s.ctx))
}

// Seven presses on one placement of a gauge that sends all the time give one reading and one question, whichever key takes them;
// a dip between two frets, a lift or the carriage's way make the next point a new one.
func TestOnePlacementIsOnePoint(t *testing.T) {
	ways := map[string]struct {
		capture, channel string
		press            func(s *shop)
	}{
		"data key": {devices.CaptureStream, "K", func(s *shop) { s.frameAs(carriage, 0.700, "mm", true, 600*time.Millisecond) }},
		"Space": {devices.CaptureStream, "", func(s *shop) {
			s.frame(carriage, 0.701, false)
			_ = s.bench.Take(s.ctx)
		}},
		"foot switch": {devices.CaptureStream, "", func(s *shop) {
			s.frame(carriage, 0.699, false)
			_ = s.bench.FootPress(s.ctx, false)
		}},
		"Space on a gauge at rest": {devices.CaptureSettled, "", func(s *shop) {
			s.frame(carriage, 0.700, false)
			_ = s.bench.Take(s.ctx)
		}},
	}
	for name, way := range ways {
		t.Run(name, func(t *testing.T) {
			s := open(t)
			s.carriageBy(way.capture, way.channel)
			if way.capture == devices.CaptureStream { // its new entry is checked anew
				s.ok(s.bench.CheckGauge(s.ctx, carriage))
				s.frame(carriage, 0, true)
				s.frame(carriage, 1, true)
			}
			s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
			s.press(nil) // the pitch
			s.frame(carriage, -2, false)
			questions, asked := 0, false
			for range 7 {
				// Space answers a question as long as it does: what is pressed here is what takes.
				if q := s.bench.Snapshot().Question; q == nil {
					way.press(s)
				} else {
					s.frameAs(carriage, 0.700, "mm", way.channel != "", 600*time.Millisecond)
				}
				now := s.bench.Snapshot().Question
				if now != nil && !asked {
					questions++
				}
				asked = now != nil
			}
			if got := s.bench.Snapshot(); got.Taken != 2 || questions != 1 || got.Question == nil || got.Question.Bounce {
				t.Fatalf("%d taken, %d questions; %+v, notice %+v", got.Taken-1, questions, got.Question, got.Notice)
			}
			s.ok(s.bench.Answer(s.ctx, false))
			s.frame(carriage, -0.4, false) // between two frets
			s.frame(carriage, -0.4, false)
			way.press(s)
			if got := s.bench.Snapshot(); got.Taken != 3 || got.Question != nil {
				t.Fatalf("after a dip: %d taken; %+v, notice %+v", got.Taken-1, got.Question, got.Notice)
			}
		})
	}
}

// A deliberate yes uses the reading where it stands, and what was taken back may be read again there.
func TestAPlacementIsUsedAgainOnAsking(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	next := s.bench.Snapshot().Next
	here := s.bench.Snapshot().Points[next-1].Value
	s.frameAs(carriage, here, "mm", true, time.Second)
	s.ok(s.bench.Answer(s.ctx, true))
	if got := s.bench.Snapshot(); got.Taken != 3 {
		t.Fatalf("%+v", got.Notice)
	}
	s.ok(s.bench.Undo(s.ctx))
	s.frameAs(carriage, here+0.001, "mm", true, time.Second)
	if got := s.bench.Snapshot(); got.Next != next+1 || got.Question != nil {
		t.Fatalf("next is %d, want %d: %+v", got.Next, next+1, got.Question)
	}
}

// The carriage's way along the neck says as well that it stands on another fret.
func TestTheCarriagesWayIsANewPlacement(t *testing.T) {
	s := open(t)
	place := batch.Gauge{ID: "gauge-place", Name: "carriage position", Measures: []batch.Kind{batch.Position}, Capture: devices.CaptureStream,
		Sense: 1, ResolutionMM: 0.01, Path: "/dev/none", Decoder: "channel and value"}
	must(t)(s.db.SaveGauge(s.ctx, "", place))
	s.ok(s.bench.ReloadGauges(s.ctx))
	at := func(mm float64) {
		s.set(s.at().Add(100 * time.Millisecond))
		s.bench.Reading(devices.Reading{Gauge: place.ID, At: s.at(), Value: decode.Value{Digits: "1", Unit: "mm", Value: mm, UnitNorm: "mm", MM: mm}})
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	at(36)
	s.frameAs(carriage, 0.280, "mm", true, time.Second)
	at(37)
	s.frameAs(carriage, 0.280, "mm", true, time.Second)
	if got := s.bench.Snapshot(); got.Taken != 2 || got.Question == nil {
		t.Fatalf("%d taken; %+v", got.Taken, got.Notice)
	}
	s.ok(s.bench.Answer(s.ctx, false))
	at(70)
	s.frameAs(carriage, 0.280, "mm", true, time.Second)
	if got := s.bench.Snapshot(); got.Taken != 3 || got.Question != nil {
		t.Fatalf("%d taken; %+v, %+v", got.Taken, got.Question, got.Notice)
	}
}
