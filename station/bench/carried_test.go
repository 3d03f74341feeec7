package bench

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/testdata/demo"
)

// slotThree is a neck whose string 3 lies too high in its nut slot.
func slotThree(p routine.Point, mm float64) float64 {
	if p.Point.Kind == batch.NutHeight && p.Point.String == 3 {
		return 0.8
	}
	return mm
}

// filed measures a neck whose nut slot 3 is too high, and records that it was filed.
func (s *shop) filed(serial string) {
	s.t.Helper()
	s.ok(s.bench.Entry(s.ctx, serial, "mm"))
	s.finish(slotThree)
	s.decided(inspect.Rework)
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepNut, String: 3}))
}

// decided checks the disposition of the neck on the bench.
func (s *shop) decided(want inspect.Disposition) *Snapshot {
	s.t.Helper()
	got := s.bench.Snapshot()
	if got.Verdict == nil || got.Verdict.Disposition != want {
		s.t.Fatalf("verdict %+v, %s, want %s", got.Verdict, got.Result.Why, want)
	}
	return got
}

// withoutMargin opens a batch of the bolt-on model in which no clearance is limited, its routine with what is added.
func (s *shop) withoutMargin(added string) {
	s.t.Helper()
	text := string(recordtest.Must(demo.Files.ReadFile("qm-bolt-648.toml"))(s.t))
	i := strings.Index(text, "[[limit]]\ncharacteristic = \"clearance_margin\"")
	text = strings.Replace(text[:i], `revision = "A"`, `revision = "M"`, 1)
	text = strings.Replace(text, "[routine]\n", "[routine]\n"+added, 1)
	spec := recordtest.Must(s.db.AddSpec(s.ctx, "", "", "without-margin.toml", []byte(text)))(s.t)
	must(s.t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "QM-2699", Spec: spec, Planned: 3}, []string{"QM-2699-0001", "QM-2699-0002", "QM-2699-0003"}))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2699"))
}

// Only what a nut slot, or the rod, can have changed is asked for; the rest is carried over, on the page and in the record, and after levelling
// nothing is. A neck that nothing was done to is measured whole.
func TestOnlyWhatCanHaveChangedIsAskedFor(t *testing.T) {
	s := open(t)
	s.withoutMargin("")
	rod := batch.ReworkAction{What: inspect.StepRod, Turns: 0.125, Direction: "tighten"}
	for _, c := range []struct {
		name           string
		first          func(routine.Point, float64) float64
		work           []batch.ReworkAction
		points         int
		carried, anew  []string
		serial, second string
	}{
		{"a nut slot", slotThree, []batch.ReworkAction{{What: inspect.StepNut, String: 3}}, 1 + 3 + 3, []string{inspect.Relief, inspect.Hump, inspect.Twist}, []string{}, "QM-2699-0001", ""},
		{"the rod", s.withBow(0.12), []batch.ReworkAction{rod}, 1 + 6 + 2 + 6 + 6, []string{inspect.Hump, inspect.FallAway, inspect.LevelZone, inspect.Rocker}, []string{inspect.Relief, inspect.Action, inspect.NutHeight, inspect.Twist}, "QM-2699-0002", ""},
		{"levelling after a nut slot", slotThree, []batch.ReworkAction{{What: inspect.StepNut, String: 3}, {What: inspect.StepLevel}}, 57 + 2, nil, nil, "QM-2699-0003", ""},
	} {
		s.ok(s.bench.Entry(s.ctx, c.serial, "mm"))
		s.finish(c.first)
		s.decided(inspect.Rework)
		judged := s.at()
		for _, a := range c.work {
			s.ok(s.bench.RecordRework(s.ctx, a))
		}
		s.ok(s.bench.Again(s.ctx))
		begun := s.bench.Snapshot()
		if said, want := begun.Notice.Text, c.serial+", attempt 2."; said != want { // the page says what is carried, under the point asked for
			t.Errorf("after %s: %q, want %q", c.name, said, want)
		}
		if said := tell.RestCarried(begun.Carried, judged); (said == "The rest was measured by "+judged.Local().Format("15:04")+" today and is still true") != (c.carried != nil) {
			t.Errorf("after %s: %q", c.name, said)
		}
		got := s.finish(nil)
		if len(got.Points) != c.points {
			t.Errorf("after %s %d points are asked for, want %d", c.name, len(got.Points), c.points)
		}
		s.decided(inspect.Pass)
		names := map[string]bool{}
		for _, ch := range got.Result.Characteristics {
			if ch.CarriedFrom != nil {
				names[ch.Name] = true
				if ch.CarriedFrom.Attempt != 1 || !ch.CarriedFrom.At.Equal(judged) || ch.Zone == inspect.Nonconforming {
					t.Errorf("after %s, %s: carried from %+v, %s; judged at %s", c.name, ch.Name, *ch.CarriedFrom, ch.Zone, judged)
				}
			}
		}
		for _, name := range c.carried {
			if !names[name] {
				t.Errorf("after %s %s is not carried", c.name, name)
			}
		}
		for _, name := range c.anew {
			if names[name] {
				t.Errorf("after %s %s is carried", c.name, name)
			}
		}
		if c.carried == nil && len(names) > 0 {
			t.Errorf("after %s %v are carried", c.name, names)
		}
		s.restart()
		s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
		s.ok(s.bench.OpenBatch(s.ctx, "QM-2699"))
		s.ok(s.db.VerifyAudit(s.ctx))
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2699-0001", "mm"))
	s.ok(s.bench.Answer(s.ctx, true))
	if got := s.bench.Snapshot(); len(got.Points) != 57 || len(got.Carried) != 0 {
		t.Errorf("nothing was done to it, and %d points are asked for, %d values carried", len(got.Points), len(got.Carried))
	}
}

// Work that was done as advised, with nothing typed, was done at the string that the advice names; where it names two, at any string.
func TestWorkDoneAsAdvisedIsAtTheAdvisedString(t *testing.T) {
	high := func(strings ...int) func(routine.Point, float64) float64 {
		return func(p routine.Point, mm float64) float64 {
			if p.Point.Kind == batch.NutHeight && slices.Contains(strings, p.Point.String) {
				return 0.8
			}
			return mm
		}
	}
	for _, c := range []struct {
		name   string
		first  func(routine.Point, float64) float64
		work   batch.ReworkAction
		string int
		points int
	}{
		{"as advised", high(3), batch.ReworkAction{What: inspect.StepNut}, 3, 1 + 3 + 3},
		{"at another string", high(3), batch.ReworkAction{What: inspect.StepNut, String: 5}, 5, 1 + 4 + 3}, // string 3 still lies too high
		{"with an amount of its own", high(3), batch.ReworkAction{What: inspect.StepNut, AmountMM: 0.1}, 0, 1 + 6 + 6},
		{"two strings advised", high(3, 4), batch.ReworkAction{What: inspect.StepNut}, 0, 1 + 6 + 6},
		{"not advised", high(3), batch.ReworkAction{What: inspect.StepAction}, 0, 1 + 6 + 6},
	} {
		s := open(t)
		s.withoutMargin("")
		s.ok(s.bench.Entry(s.ctx, "QM-2699-0001", "mm"))
		s.finish(c.first)
		s.decided(inspect.Rework)
		s.ok(s.bench.RecordRework(s.ctx, c.work))
		if done := s.steps(); len(done) != 1 || done[0].String != c.string {
			t.Errorf("%s: recorded %+v, want string %d", c.name, done, c.string)
		}
		s.ok(s.bench.Again(s.ctx))
		if got := s.bench.Snapshot(); len(got.Points) != c.points {
			t.Errorf("%s: %d points are asked for, want %d", c.name, len(got.Points), c.points)
		}
	}
}

// One key has everything measured, what was measured before the key counts, and a restart goes on with it.
func TestMeasuredWholeByAKey(t *testing.T) {
	s := open(t)
	s.filed("QM-2611-0001")
	s.refused(s.bench.MeasureWhole(s.ctx), "inspect it again (F6)")
	s.ok(s.bench.Again(s.ctx))
	s.press(nil)
	few := s.bench.Snapshot()
	if len(few.Points) >= 57 || len(few.Carried) == 0 {
		t.Fatalf("%d points, %d carried", len(few.Points), len(few.Carried))
	}
	s.ok(s.bench.MeasureWhole(s.ctx))
	if got := s.bench.Snapshot(); len(got.Points) != 57 || len(got.Carried) != 0 || !got.Points[0].Taken {
		t.Fatalf("%d points, %d carried, the first taken %v", len(got.Points), len(got.Carried), got.Points[0].Taken)
	}
	s.refused(s.bench.MeasureWhole(s.ctx), "measured whole already")
	s.restart()
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	if got := s.bench.Snapshot(); len(got.Points) != 57 {
		t.Errorf("after a restart %d points are asked for", len(got.Points))
	}
	got := s.finish(nil)
	s.decided(inspect.Pass)
	if carried := batch.Carried(got.Result); len(carried) > 0 {
		t.Errorf("%d values are carried", len(carried))
	}
	entries := recordtest.Must(s.db.Audit(s.ctx, 100))(t)
	found := false
	for _, e := range entries {
		found = found || e.What == "inspection measured whole" && e.By == "Wren Halloway" && e.About == "QM-2611-0001, attempt 2"
	}
	if !found {
		t.Error("the record's trail does not say that everything was measured")
	}
}

// The specification can demand that everything is measured.
func TestMeasuredWholeBySpecification(t *testing.T) {
	s := open(t)
	s.withoutMargin("whole = true\n")
	s.filed("QM-2699-0001")
	s.ok(s.bench.Again(s.ctx))
	if got := s.bench.Snapshot(); len(got.Points) != 57 || len(got.Carried) != 0 {
		t.Errorf("%d points, %d carried", len(got.Points), len(got.Carried))
	}
}

// Work that is recorded while the attempt is measured takes from what is carried, at the latest when its verdict is due.
func TestWorkRecordedLate(t *testing.T) {
	s := open(t)
	s.filed("QM-2611-0001")
	first := *s.bench.Snapshot().Inspection
	s.ok(s.bench.Again(s.ctx))
	for len(s.bench.Snapshot().Points)-s.done() > 1 {
		s.press(nil)
	}
	must(t)(s.db.AppendRework(s.ctx, batch.ReworkAction{NeckID: first.NeckID, InspectionID: first.ID, By: "Tove Aske", What: inspect.StepLevel}))
	s.press(nil)
	got := s.bench.Snapshot()
	if got.Verdict != nil || len(got.Points) != 57 || len(got.Carried) > 0 || !strings.Contains(got.Notice.Text, "52 more points are asked for") {
		t.Fatalf("verdict %+v, %d points, %d carried, %q", got.Verdict, len(got.Points), len(got.Carried), got.Notice.Text)
	}
	got = s.finish(nil)
	s.decided(inspect.Pass)
	if carried := batch.Carried(got.Result); len(carried) > 0 {
		t.Errorf("%d values are carried though all frets were levelled", len(carried))
	}
}

// Where nothing was recorded when an attempt began it is measured whole, whatever is recorded then.
func TestNothingRecordedAtTheStart(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(slotThree)
	first := *s.bench.Snapshot().Inspection
	s.ok(s.bench.Again(s.ctx))
	s.set(s.at().Add(time.Second))
	must(t)(s.db.AppendRework(s.ctx, batch.ReworkAction{NeckID: first.NeckID, InspectionID: first.ID, By: "Tove Aske", What: inspect.StepNut, String: 3}))
	s.restart()
	if got := s.bench.Snapshot(); len(got.Points) != 57 {
		t.Errorf("%d points are asked for of a neck that nothing was done to when its attempt began", len(got.Points))
	}
}

// done counts the points that are taken.
func (s *shop) done() int {
	n := 0
	for _, p := range s.bench.Snapshot().Points {
		if p.Taken {
			n++
		}
	}
	return n
}

// A gauge found wrong puts a neck in doubt whose pass rests on what was carried over from readings of it; one that measured nothing of that does not.
func TestDoubtReachesWhatWasCarried(t *testing.T) {
	for _, c := range []struct {
		gauge   string
		doubted bool
	}{{carriage, true}, {height, false}} {
		s := open(t)
		s.withoutMargin("")
		s.ok(s.bench.Entry(s.ctx, "QM-2699-0001", "mm"))
		s.finish(s.withBow(0.12))
		s.ok(s.bench.RecordRework(s.ctx, eighth))
		s.ok(s.bench.CheckGauge(s.ctx, c.gauge)) // a good check ends what it proves; what is measured after it is another matter
		s.frame(c.gauge, 0, true)
		s.frame(c.gauge, 1, true)
		s.ok(s.bench.Again(s.ctx))
		s.finish(nil)
		s.decided(inspect.Pass)
		bt := s.bench.Snapshot().Batch
		neck := recordtest.Must(s.db.Neck(s.ctx, "QM-2699-0001"))(t)
		over := batch.DoubtRange{GaugeID: c.gauge, To: recordtest.Must(s.db.Inspections(s.ctx, neck.ID))(t)[1].StartedAt}
		shown := recordtest.Must(s.db.DoubtReach(s.ctx, over))(t)
		if want := map[bool]int{true: 1}[c.doubted]; shown.Necks != want {
			t.Errorf("%s: doubt would mark %d necks, want %d", c.gauge, shown.Necks, want)
		}
		must(t)(s.db.CastDoubt(s.ctx, "Ilse Marchetti-Roe", "its tip was loose", over, shown))
		s.ok(s.bench.ReloadDoubt(s.ctx))
		counts := recordtest.Must(s.db.Counts(s.ctx, bt.ID))(t)
		got := s.bench.Snapshot()
		if (counts.InDoubt == 1) != c.doubted || strings.Contains(got.Doubt, "In doubt: what is carried over.") != c.doubted {
			t.Errorf("%s: %d necks in doubt, the page says %q", c.gauge, counts.InDoubt, got.Doubt)
		}
		doubts := recordtest.Must(s.db.Doubts(s.ctx, batch.DoubtFilter{NeckID: neck.ID, Standing: true, Impact: true}))(t)
		if !c.doubted {
			if len(doubts) > 0 {
				t.Errorf("%s: %+v", c.gauge, doubts)
			}
			continue
		}
		d := doubts[0]
		if d.Attempt != 1 || d.CarriedInto != 2 || d.Disposition != inspect.Pass || len(d.RestOn) == 0 || d.Impact.Outcome != batch.CannotBeTold {
			t.Errorf("the doubt: attempt %d, into %d, %s, %d rest on it, %s", d.Attempt, d.CarriedInto, d.Disposition, len(d.RestOn), d.Impact.Outcome)
		}
		for _, ch := range d.RestOn {
			if ch.CarriedFrom == nil {
				t.Errorf("%s was measured anew and is said to rest on it", ch.Name)
			}
		}
		s.ok(s.bench.Again(s.ctx))
		if now := s.bench.Snapshot(); len(now.Points) != 57 || now.Inspection.Attempt != 3 {
			t.Errorf("attempt %d asks for %d points", now.Inspection.Attempt, len(now.Points))
		}
		s.finish(nil)
		s.decided(inspect.Pass)
		if counts := recordtest.Must(s.db.Counts(s.ctx, bt.ID))(t); counts.InDoubt != 0 {
			t.Errorf("inspected as a whole, and %d necks are in doubt", counts.InDoubt)
		}
		all := recordtest.Must(s.db.Doubts(s.ctx, batch.DoubtFilter{NeckID: neck.ID}))(t)
		if all[0].Cleared != batch.ClearedAttempt || fmt.Sprint(all[0].CarriedInto) != "0" {
			t.Errorf("%+v", all[0])
		}
		s.ok(s.db.VerifyAudit(s.ctx))
	}
}

// A doubt cast while the attempt is measured takes what was carried from those readings.
func TestDoubtWhileWhatIsLeftIsMeasured(t *testing.T) {
	s := open(t)
	s.filed("QM-2611-0001")
	s.ok(s.bench.Again(s.ctx))
	s.press(nil)
	over := batch.DoubtRange{GaugeID: carriage, To: s.at()}
	must(t)(s.db.CastDoubt(s.ctx, "Ilse Marchetti-Roe", "its tip was loose", over, recordtest.Must(s.db.DoubtReach(s.ctx, over))(t)))
	s.ok(s.bench.ReloadDoubt(s.ctx))
	if got := s.bench.Snapshot(); len(got.Points) != 57 || len(got.Carried) != 0 {
		t.Errorf("%d points, %d carried", len(got.Points), len(got.Carried))
	}
}
