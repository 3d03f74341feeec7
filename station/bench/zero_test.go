package bench

import (
	"math"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
)

// TestZeroIsLostWithThePower: the zero of a gauge that loses it without power is not judged where its power was lost, and the check
// says so; of what else may have moved it, it is judged.
func TestZeroIsLostWithThePower(t *testing.T) {
	drop := func(s *shop) { s.ok(s.bench.ReportEvent(s.ctx, "Wren Halloway", height, batch.CheckDrop)) }
	battery := func(s *shop) { s.status("low battery"); s.frame(height, 0.2, false) }
	for _, c := range []struct {
		loses   string
		happen  []func(*shop)
		after   string
		good    bool
		because string
	}{
		{batch.LosesWithPower, []func(*shop){battery}, batch.CheckBattery, true, "it loses its zero without power, and its battery was low"},
		{batch.LosesWithPower, []func(*shop){func(s *shop) { s.status("power-up") }}, batch.CheckPowerUp, true, "it loses its zero without power, and it had lost power"},
		{batch.LosesWithPower, []func(*shop){(*shop).unplug}, batch.CheckReconnect, false, ""},
		{batch.LosesWithLine, []func(*shop){(*shop).unplug}, batch.CheckReconnect, true, "it loses its zero without power, and it had been unplugged"},
		{batch.LosesWithLine, []func(*shop){drop}, batch.CheckDrop, false, ""},
		{batch.LosesWithLine, []func(*shop){drop, (*shop).unplug}, batch.CheckReconnect, true, "and it had been unplugged"},
		{batch.LosesWithLine, []func(*shop){(*shop).unplug, drop}, batch.CheckReconnect, true, "and it had been unplugged"},
	} {
		s := open(t)
		s.change(height, func(g *batch.Gauge) { g.LosesZero = c.loses })
		for _, happen := range c.happen {
			happen(s)
		}
		s.ok(s.bench.CheckGauge(s.ctx, height))
		s.frame(height, 0.08, true)
		s.frame(height, 1.08, true)
		got := s.latest(height)
		if got.Good != c.good || got.ZeroJudged == c.good || got.After != c.after || !strings.Contains(got.Why, c.because) || c.good && !strings.Contains(got.Why, "not judged") {
			t.Errorf("%s after %s: %+v", c.loses, c.after, got)
		}
	}
}

// TestZeroOfAChangedEntry: with another correction or sense the zero before is taken anew from what the gauge sent then, so that its
// shift is the gauge's and not the entry's.
func TestZeroOfAChangedEntry(t *testing.T) {
	for name, c := range map[string]struct {
		edit func(*batch.Gauge)
		sent float64
		good bool
	}{
		"another correction": {func(g *batch.Gauge) { g.Calibration = []batch.CalibrationPoint{{ErrorMM: 0.05}} }, 0.301, true},
		"another sense":      {func(g *batch.Gauge) { g.Sense = -1 }, 0.301, true},
		"moved meanwhile":    {func(g *batch.Gauge) { g.Sense = -1 }, 0.38, false},
	} {
		s := open(t)
		s.change(height, func(g *batch.Gauge) { g.Masters = nil })
		s.ok(s.bench.CheckGauge(s.ctx, height))
		s.frame(height, 0.3, true)
		s.frame(height, 0.3, true) // so far off that it is asked for twice
		s.ok(s.bench.CheckGauge(s.ctx, height))
		s.frame(height, 0.3, true)
		s.change(height, c.edit)
		s.ok(s.bench.CheckGauge(s.ctx, height))
		s.frame(height, c.sent, true)
		got := s.latest(height)
		if got.After != batch.CheckEntry || !got.ZeroJudged || got.Good != c.good || math.Abs(math.Abs(got.ShiftMM)-(c.sent-0.3)) > 1e-9 {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// status sends a frame of the height gauge that holds a word and no value.
func (s *shop) status(word string) {
	s.set(s.at().Add(time.Second))
	r := devices.Reading{Gauge: height, At: s.at(), Raw: []byte(word)}
	r.Value.Status = word
	s.hands(r)
}

// unplug takes the height gauge's cable out and puts it back.
func (s *shop) unplug() {
	s.bench.Health(devices.Health{Gauge: height, State: devices.StateUnplugged, Since: s.at()})
	s.bench.Health(devices.Health{Gauge: height, State: devices.StateWaiting, Since: s.at(), Reconnections: 1})
}

// TestStopOfTheStation: after a stop longer than a restart takes nobody knows what befell the gauges meanwhile.
func TestStopOfTheStation(t *testing.T) {
	s := open(t)
	s.set(s.at().Add(shortStop))
	s.restart()
	if g := s.line(height); g.Locked {
		t.Errorf("after a short stop: %s", g.Words)
	}
	s.set(s.at().Add(time.Second))
	s.restart()
	s.restart() // the row is written once
	events, err := s.db.GaugeEvents(s.ctx, height)
	s.ok(err)
	if g := s.line(height); !g.Due || !strings.Contains(g.Words, "was not watched from") || len(events) != 1 {
		t.Fatalf("after a longer stop: %s, %d events", g.Words, len(events))
	}
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.check(height, 1)
	if c := s.latest(height); c.After != batch.CheckNotWatched || !c.Good || s.line(height).Locked {
		t.Errorf("check %+v", c)
	}
}
