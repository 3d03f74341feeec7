package bench

import (
	"math/rand/v2"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
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

// ending is what ends a laying in the middle of a neck, and how that is said.
type ending struct {
	do   func(s *shop, serial, other string)
	says string
}

var ends = map[string]ending{
	"parked": {func(s *shop, serial, _ string) {
		s.ok(s.bench.Park(s.ctx, "settling"))
		s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	}, "The neck was parked"},
	"another neck": {func(s *shop, serial, other string) {
		s.ok(s.bench.Park(s.ctx, "settling"))
		s.ok(s.bench.Entry(s.ctx, other, "mm"))
		s.ok(s.bench.Park(s.ctx, "settling"))
		s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	}, "Another neck, OTHER, came to the bench"},
	"gauge check": {func(s *shop, _, _ string) { s.check(carriage, 1) }, "The carriage indicator was checked"},
	"gauge study": {func(s *shop, serial, _ string) {
		s.ok(s.bench.Park(s.ctx, "settling"))
		st := s.plan(batch.StudyPlan{Kind: batch.TypeOneStudy, About: "1 mm master", Appraisers: []string{"Wren Halloway"}, Trials: 25, References: []float64{1}, ToleranceMM: 0.5})
		s.ok(s.bench.BeginStudy(s.ctx, st.ID))
		s.ok(s.bench.LeaveStudy(s.ctx))
		s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	}, "A study of the height gauge came to the bench"},
	"restart": {func(s *shop, _, _ string) { s.back() }, "The station was started again"},
	"gauge lost": {func(s *shop, _, _ string) {
		s.lose(carriage)
		s.check(carriage, 1)
	}, "The line of the carriage indicator was lost"},
	"moved": {func(s *shop, _, _ string) { s.ok(s.bench.Moved(s.ctx)) }, "The neck or the carriage was moved"},
}

// Whatever comes between, the neck is linked to what was read before, with the reason in one sentence, and judged as it is; heights of
// strings stay.
func TestLayingsAreLinked(t *testing.T) {
	const serial = "QM-2611-0001"
	for name, end := range ends {
		t.Run(name, func(t *testing.T) {
			const other = "QM-2611-0002"
			s, l := open(t), newLie(2)
			l.anew()
			s.ok(s.bench.Entry(s.ctx, serial, "mm"))
			for range 24 { // pitch, the bass side, one crown of the treble side
				s.press(l.under)
			}
			before := s.bench.Snapshot()
			l.anew()
			end.do(s, serial, other)
			after := s.bench.Snapshot()
			asks := strings.ReplaceAll(end.says, "OTHER", other) + ": measure bass side, fret 1, once more, so that what was read before can be used."
			if after.Purpose != routine.ToLink || after.Laying <= before.Laying || after.Because != asks {
				t.Fatalf("laying %d then %d, purpose %d, %q", before.Laying, after.Laying, after.Purpose, after.Because)
			}
			links, said := 0, ""
			for s.bench.Snapshot().Purpose == routine.ToLink {
				s.press(l.under)
				links++
				if n := s.bench.Snapshot().Notice; n != nil {
					said = n.Text
				}
			}
			if links != 4 || said != "The crowns measured once more agree: 19 crowns read before are carried over." {
				t.Errorf("%d links, then %q", links, said)
			}
			got := s.finish(l.under)
			if got.Verdict == nil || got.Verdict.Disposition != inspect.Pass {
				t.Fatalf("verdict %+v, notice %+v", got.Verdict, got.Notice)
			}
			for _, c := range got.Result.Characteristics {
				if c.Name == inspect.Relief && (*c.Value < 0.27 || *c.Value > 0.29) {
					t.Errorf("relief %s %.4f mm, planted 0.28", c.Track, *c.Value)
				}
			}
		})
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
// the record keeps them.
func TestFewCrownsAreMeasuredAgain(t *testing.T) {
	const serial, other = "QM-2611-0001", "QM-2611-0002"
	for name, end := range ends {
		t.Run(name, func(t *testing.T) {
			s := open(t)
			s.ok(s.bench.Entry(s.ctx, serial, "mm"))
			for range 5 {
				s.press(nil)
			}
			id := s.bench.Snapshot().Inspection.ID
			end.do(s, serial, other)
			snap := s.bench.Snapshot()
			says := strings.ReplaceAll(end.says, "OTHER", other) + " after 4 crowns: they are measured again, which is quicker than linking them, and they stay in the record."
			if snap.Next != 1 || snap.Purpose != routine.ToMeasure || snap.Notice == nil || !strings.Contains(snap.Notice.Text, says) {
				t.Fatalf("next %d, purpose %d, %+v; want %q", snap.Next, snap.Purpose, snap.Notice, says)
			}
			for _, untrue := range []string{"where it was", "so far is lost"} {
				if strings.Contains(snap.Notice.Text, untrue) {
					t.Errorf("the notice says %q though crowns are measured again: %s", untrue, snap.Notice.Text)
				}
			}
			kept := 0
			for _, r := range recordtest.Must(s.db.Readings(s.ctx, id))(t) {
				if r.Point.Kind == batch.Crown && !r.Withdrawn {
					kept++
				}
				if r.Withdrawn && r.Reason != says {
					t.Errorf("%s is taken back because %q", tell.Point(r.Point), r.Reason)
				}
			}
			if kept != 4 {
				t.Errorf("the record has %d crowns, want the 4 that were read", kept)
			}
		})
	}
}

// A neck that is parked in other air is measured again from there on, not once more at its next parking in the same.
func TestOtherAirIsSaidOnce(t *testing.T) {
	const serial = "QM-2611-0001"
	s := open(t)
	air := func(percent float64) {
		t.Helper()
		s.ok(s.bench.SetClimate(s.ctx, inspect.Climate{HumidityPercent: &percent}))
	}
	air(40)
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	for range 12 {
		s.press(nil)
	}
	s.ok(s.bench.Park(s.ctx, "settling"))
	air(47)
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	const says = "The neck was parked, and the humidity changed by 7 % RH. What was read before is measured again; it stays in the record."
	if snap := s.bench.Snapshot(); snap.Next != 1 || snap.Notice == nil || !strings.Contains(snap.Notice.Text, says) {
		t.Fatalf("next %d, %+v", snap.Next, snap.Notice)
	}
	for range 12 {
		s.press(nil)
	}
	s.ok(s.bench.Park(s.ctx, "settling"))
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	if snap := s.bench.Snapshot(); snap.Purpose != routine.ToLink {
		t.Fatalf("%d, %q, %+v", snap.Purpose, snap.Because, snap.Notice)
	}
}

// Old crowns that are not worth linking, or whose links disagree, no longer count, and the page says which and why; the record keeps
// them.
func TestOldCrownsAreWithdrawn(t *testing.T) {
	s, l := open(t), newLie(4)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for range 4 {
		s.press(l.under)
	}
	l.anew()
	s.ok(s.bench.Moved(s.ctx))
	if got := s.bench.Snapshot(); got.Next != 1 || got.Notice == nil || !strings.Contains(got.Notice.Text, "The neck or the carriage was moved after 3 crowns: they are measured again, which is quicker than linking them, and they stay in the record.") {
		t.Fatalf("next %d, %+v", got.Next, got.Notice)
	}
	for range 12 {
		s.press(l.under)
	}
	l.anew()
	s.ok(s.bench.Moved(s.ctx))
	bent := func(p routine.Point, mm float64) float64 {
		if ofLaying(p.Point.Kind) && p.Point.Fret > 1 && p.Point.Fret < 12 {
			mm += 0.15
		}
		return l.under(p, mm)
	}
	for s.bench.Snapshot().Purpose == routine.ToLink {
		s.press(bent)
	}
	if got := s.bench.Snapshot(); got.Notice == nil || !strings.Contains(got.Notice.Text, "it changed meanwhile, or something moved") || got.Points[2].Taken {
		t.Fatalf("%+v", got.Notice)
	}
	l.anew()
	s.ok(s.bench.Park(s.ctx, ""))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if got := s.finish(l.under); got.Verdict == nil || got.Verdict.Disposition != inspect.Pass {
		t.Fatalf("%+v", got.Verdict)
	}
	s.ok(s.db.VerifyAudit(s.ctx))
}

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
