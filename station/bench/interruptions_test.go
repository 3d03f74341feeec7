package bench

import (
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

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
	if got := s.bench.Snapshot(); got.Notice == nil || !strings.Contains(got.Notice.Text, "The neck or the carriage was moved, and the crowns measured once more are up to 0.") || got.Points[2].Taken {
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

// After more than eight hours nothing is carried, and the page says that it is the hours.
func TestOldLayingsAreMeasuredAgain(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for range 12 {
		s.press(nil)
	}
	s.ok(s.bench.Park(s.ctx, "overnight"))
	s.set(s.at().Add(9 * time.Hour))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	const says = "The neck was parked, and more than 8 hours passed. What was read before is measured again; it stays in the record."
	if got := s.bench.Snapshot(); got.Next != 1 || got.Notice == nil || !strings.HasSuffix(got.Notice.Text, says) {
		t.Fatalf("next %d, %+v", got.Next, got.Notice)
	}
}

// Links that are not all in when the laying ends again are measured again, and the crowns before them wait for the new ones.
func TestLinksAreInterrupted(t *testing.T) {
	s, l := open(t), newLie(8)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for range 24 {
		s.press(l.under)
	}
	l.anew()
	s.ok(s.bench.Moved(s.ctx))
	s.press(l.under)
	l.anew()
	s.ok(s.bench.Moved(s.ctx))
	const says = "The neck or the carriage was moved before the crowns measured once more were complete: they are measured again, and stay in the record."
	if got := s.bench.Snapshot(); got.Purpose != routine.ToLink || got.Points[got.Next].Point.Fret != 1 || got.Notice == nil || !strings.HasSuffix(got.Notice.Text, says) {
		t.Fatalf("%d, %+v, %+v", got.Purpose, got.Points[got.Next].Point, got.Notice)
	}
	if got := s.finish(l.under); got.Verdict == nil || got.Verdict.Disposition != inspect.Pass {
		t.Fatalf("%+v", got.Verdict)
	}
}
