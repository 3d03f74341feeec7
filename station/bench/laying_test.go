package bench

import (
	"math/rand/v2"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// lie is how a neck lies under the carriage: an offset and slopes, mm and mm per mm.
type lie struct {
	random *rand.Rand
	z      [3]float64
}

func newLie(seed uint64) *lie { return &lie{random: rand.New(rand.NewPCG(seed, 3))} }

// anew lays the neck down otherwise.
func (l *lie) anew() {
	l.z = [3]float64{0.15 * l.random.NormFloat64(), 3e-4 * l.random.NormFloat64(), 2e-3 * l.random.NormFloat64()}
}

// under is what a gauge reads of a point as the neck lies, where it gives mm on its own.
func (l *lie) under(p routine.Point, mm float64) float64 {
	if ofLaying(p.Point.Kind) {
		mm += l.z[0] + l.z[1]*p.XMM + l.z[2]*p.YMM
	}
	return mm
}

// lose has a gauge unplugged and plugged in again; then it is checked.
func (s *shop) lose(gauge string) {
	s.t.Helper()
	s.bench.Health(devices.Health{Gauge: gauge, State: devices.StateUnplugged, Since: s.at()})
	s.bench.Health(devices.Health{Gauge: gauge, State: devices.StateLive, Since: s.at(), Reconnections: 1})
}

// back starts the station again and signs the inspector on.
func (s *shop) back() {
	s.t.Helper()
	s.restart()
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	for _, g := range []string{carriage, height, beam} {
		s.bench.Health(devices.Health{Gauge: g, State: devices.StateLive, Since: s.at()})
	}
}

// A laying that ends after the strings' heights asks for nothing: they do not depend on it; a crown that is chosen then is linked first.
func TestHeightsNeedNoLinks(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for s.bench.Snapshot().Points[s.bench.Snapshot().Next].Point.Kind != batch.NutHeight {
		s.press(nil)
	}
	s.press(nil)
	s.ok(s.bench.Moved(s.ctx))
	snap := s.bench.Snapshot()
	if snap.Purpose != routine.ToMeasure || snap.Points[snap.Next].Point.Kind != batch.NutHeight {
		t.Fatalf("%d, %q", snap.Purpose, snap.Because)
	}
	s.ok(s.bench.Choose(s.ctx, "crown/bass/5/0/0"))
	if snap = s.bench.Snapshot(); snap.Purpose != routine.ToLink || snap.Points[snap.Next].Point.Fret != 1 {
		t.Fatalf("%d, %q", snap.Purpose, snap.Because)
	}
	s.ok(s.bench.Choose(s.ctx, "crown/bass/5/0/0"))
	if snap = s.bench.Snapshot(); snap.Purpose != routine.ToMeasure {
		t.Fatalf("%d, %q", snap.Purpose, snap.Because)
	}
	if snap = s.finish(nil); snap.Verdict.Disposition != inspect.Pass {
		t.Fatal(snap.Verdict.Disposition)
	}
}

// Too few crowns to be worth linking are measured again: the page says how many, after what and why, and nothing that this makes untrue;
// A neck that moves while it is measured, and nobody says so, is asked for again and judged as it is: never level, hump or twist.
func TestMoveThatNobodySays(t *testing.T) {
	for name, at := range map[string]int{"at a track's third crown": 4, "in mid-track": 12, "between the tracks": 23, "before the closing reading": 45} {
		t.Run(name, func(t *testing.T) {
			s, l := open(t), newLie(6)
			s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
			for range at {
				s.press(l.under)
			}
			l.z[0] += 0.35
			said := ""
			for n := 0; s.bench.Snapshot().Next >= 0; n++ {
				if n > 300 {
					t.Fatal("the routine does not end")
				}
				s.press(l.under)
				if n := s.bench.Snapshot().Notice; n != nil {
					said += n.Text
				}
			}
			if got := s.bench.Snapshot(); got.Verdict.Disposition != inspect.Pass || !strings.Contains(said, "moved") {
				t.Fatalf("%s, said %q", got.Verdict.Disposition, said)
			}
		})
	}
}

// A crown that the others make implausible is asked about when it is taken: a plunger that stuck is measured again, a fret that is so is
// said to be so by its own key.
func TestImplausibleCrownIsAskedAbout(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for range 9 {
		s.press(nil)
	}
	s.press(func(_ routine.Point, mm float64) float64 { return mm + 0.4 }) // fret 9
	snap := s.bench.Snapshot()
	if snap.Purpose != routine.ToAsk || snap.Points[snap.Next].Point.Fret != 8 || !strings.Contains(snap.Because, "stands 0.40 mm higher than the other crowns say") {
		t.Fatalf("%d, %+v, %q", snap.Purpose, snap.Points[snap.Next].Point, snap.Because)
	}
	s.refused(s.bench.Skip(s.ctx), "was measured before")
	s.press(nil)
	s.press(nil)
	if snap = s.bench.Snapshot(); snap.Purpose != routine.ToMeasure || snap.Points[snap.Next].Point.Fret != 10 {
		t.Fatalf("after the repeat: %d, %q", snap.Purpose, snap.Because)
	}
	high := func(p routine.Point, mm float64) float64 {
		if p.Point.Fret == 12 && p.Point.Track == "bass" {
			mm += 0.4
		}
		return mm
	}
	for s.bench.Snapshot().Purpose != routine.ToBeSure {
		if s.bench.Snapshot().Next < 0 {
			t.Fatal("nothing was asked")
		}
		s.press(high)
	}
	if q := s.bench.Snapshot().Question; q == nil || !q.Sure || !strings.Contains(q.Asks, "is the fret so?") {
		t.Fatalf("%+v", q)
	}
	s.refused(s.bench.Take(s.ctx), "F3 says that it is so")
	s.ok(s.bench.Answer(s.ctx, true))
	if snap = s.bench.Snapshot(); snap.Question != nil || snap.Points[snap.Next].Point.Fret != 13 {
		t.Fatalf("%+v, next %d", snap.Question, snap.Next)
	}
	if got := s.finish(high); got.Verdict.Disposition == inspect.Pass {
		t.Error("the high fret passes")
	}
}

// Two crowns say nothing of each other; at the third the one that is millimetres off is asked about with the one before it, and measured
// again it is as the others.
func TestSecondCrownFarOff(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	s.press(func(_ routine.Point, mm float64) float64 { return mm + 7 })
	if snap := s.bench.Snapshot(); snap.Purpose != routine.ToMeasure || snap.Question != nil || snap.Points[snap.Next].Point.Fret != 3 {
		t.Fatalf("%d, %+v, %+v", snap.Purpose, snap.Question, snap.Points[snap.Next])
	}
	for n := 0; s.bench.Snapshot().Purpose == routine.ToMeasure; n++ {
		if n > 2 {
			t.Fatal("nothing is asked after two more crowns")
		}
		s.press(nil)
	}
	if got := s.finish(nil); got.Verdict.Disposition != inspect.Pass {
		t.Fatalf("%s", got.Verdict.Disposition)
	}
}

// What no longer counts and could not be noted is noted with the next reading.
func TestWithdrawingIsTriedAgain(t *testing.T) {
	s := in(t, isMeasuring)
	full := errFull
	s.faulty.fail.Store(&full)
	s.refused(s.bench.Moved(s.ctx), "was NOT noted")
	s.refused(s.bench.Entry(s.ctx, "0.3", "mm"), "was NOT noted")
	s.faulty.fail.Store(nil)
	s.press(nil)
	if got := s.bench.Snapshot(); got.Taken != 4 || !got.Points[1].Taken {
		t.Fatalf("%d rows, %+v", got.Taken, got.Points[1])
	}
}
