package bench

import (
	"strings"
	"sync"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
)

// TestGoodNeckPasses takes a whole routine and looks at what the record holds.
func TestGoodNeckPasses(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	snap := s.bench.Snapshot()
	if snap.Stage != Measuring || snap.Inspection.Attempt != 1 {
		t.Fatalf("stage %s, inspection %+v", snap.Stage, snap.Inspection)
	}
	if got := snap.Points[snap.Next].Point.Kind; got != batch.PitchDeclared {
		t.Fatalf("asked first for %s, want pitch: tension is what bends a neck", got)
	}
	snap = s.finish(nil)
	if snap.Stage != Decided || snap.Verdict == nil || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v, failing %+v", snap.Stage, snap.Verdict, inspect.FirstFailing(snap.Result))
	}
	readings, err := s.db.Readings(s.ctx, snap.Inspection.ID)
	s.ok(err)
	if len(readings) != len(snap.Points) {
		t.Fatalf("%d readings recorded for %d points", len(readings), len(snap.Points))
	}
	for _, r := range readings[1:] { // the first declares the pitch
		if len(r.Raw) == 0 || r.CheckID == "" || r.Decoder == "" || r.U == 0 {
			t.Fatalf("reading of %s lacks where it came from: %+v", tell.Point(r.Point), r)
		}
	}
	if snap.Counts.FirstPass != 1 || snap.Counts.Inspected != 1 {
		t.Fatalf("counts %+v", snap.Counts)
	}
	s.ok(s.bench.Clear(s.ctx))
	if s.bench.Snapshot().Stage != Idle {
		t.Fatal("the bench is not free for the next neck")
	}
}

// TestResumeAnywhere restarts the bench after every eleventh reading, from each of the first eleven: the readings are the same, a neck
// whose crowns have to be linked is asked for links, another for the same point, and all end in the same verdict.
func TestResumeAnywhere(t *testing.T) {
	const every = 11
	s := open(t)
	for begin := range every {
		s.bring("QM-2611-0001")
		for n := begin; s.bench.Snapshot().Next >= 0; n++ {
			s.press(nil)
			before := s.bench.Snapshot()
			if before.Stage == Decided {
				break
			}
			if n%every != 0 {
				continue
			}
			s.restart()
			after := s.bench.Snapshot()
			if after.Serial != before.Serial || after.Inspector != before.Inspector || after.Taken < before.Taken || after.Laying <= 0 {
				t.Fatalf("after %d readings: %s, %d taken, %s before", before.Taken, after.Serial, after.Taken, before.Serial)
			}
			if after.Next != before.Next && after.Purpose == routine.ToMeasure && after.Taken == before.Taken {
				t.Fatalf("after %d readings: asks for %d, asked for %d before", before.Taken, after.Next, before.Next)
			}
		}
		if v := s.bench.Snapshot().Verdict; v == nil || v.Disposition != inspect.Pass {
			t.Fatalf("from %d: verdict %+v", begin, v)
		}
	}
}

// TestReworkAndSecondAttempt finds too much relief, records the turn and passes the neck at its second attempt.
func TestReworkAndSecondAttempt(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	snap := s.finish(s.withBow(0.12))
	if snap.Verdict == nil || snap.Verdict.Disposition != inspect.Rework || len(snap.Result.Advice) == 0 {
		t.Fatalf("verdict %+v", snap.Verdict)
	}
	step := snap.Result.Advice[0]
	if step.What != "truss rod" || step.Direction != "tighten" || *step.Turns != 0.1875 {
		t.Fatalf("advice %+v, want 3/16 turn tighter: (0.39 - 0.30)/0.5 = 0.18 turn", step)
	}
	s.refused(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: "truss rod", Turns: 0.5, Direction: "tighten"}), "at most 1/4 turn")
	s.refused(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: "glue"}), "no kind of rework")
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: step.What, Turns: *step.Turns, Direction: step.Direction}))
	s.ok(s.bench.Again(s.ctx))
	snap = s.finish(nil)
	if snap.Inspection.Attempt != 2 || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("attempt %d, verdict %s", snap.Inspection.Attempt, snap.Verdict.Disposition)
	}
	if snap.Counts.FirstPass != 0 || snap.Counts.Passed != 1 {
		t.Fatalf("counts %+v: it did not pass at its first inspection", snap.Counts)
	}
	steps, err := s.db.RodSteps(s.ctx, snap.Inspection.NeckID, 3)
	s.ok(err)
	if len(steps) != 1 || steps[0].Turns != *step.Turns || steps[0].ReliefBeforeMM-steps[0].ReliefAfterMM < 0.05 {
		t.Fatalf("the rod's history is %+v, want one step that lowered relief", steps)
	}
}

// TestUndo takes readings back; they stay in the record as superseded, and a verdict opens again.
func TestUndo(t *testing.T) {
	s := open(t)
	s.refused(s.bench.Undo(s.ctx), "no neck is on the bench")
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.refused(s.bench.Undo(s.ctx), "nothing has been taken")
	s.press(nil)
	s.press(nil)
	before := s.bench.Snapshot()
	s.ok(s.bench.Undo(s.ctx))
	after := s.bench.Snapshot()
	if after.Next != before.Next-1 || after.Points[after.Next].Taken {
		t.Fatalf("asks for point %d, want %d again", after.Next, before.Next-1)
	}
	readings, err := s.db.Readings(s.ctx, after.Inspection.ID)
	s.ok(err)
	last := readings[len(readings)-1]
	if len(readings) != 3 || !last.Withdrawn || last.Supersedes != readings[1].ID {
		t.Fatalf("the record holds %d readings, the last %+v", len(readings), last)
	}
	snap := s.finish(nil)
	if snap.Stage != Decided {
		t.Fatalf("stage %s", snap.Stage)
	}
	s.ok(s.bench.Undo(s.ctx))
	if snap = s.bench.Snapshot(); snap.Stage != Measuring || snap.Verdict != nil {
		t.Fatalf("stage %s after taking the last reading back", snap.Stage)
	}
	s.restart()
	if snap = s.bench.Snapshot(); snap.Stage != Measuring {
		t.Fatalf("stage %s after a restart", snap.Stage)
	}
	if snap = s.finish(nil); snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("verdict %s", snap.Verdict.Disposition)
	}
}

// TestPark goes on with another neck while one settles.
func TestPark(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil)
	s.refused(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"), "is being measured")
	s.ok(s.bench.Park(s.ctx, "retuned, settling"))
	if snap := s.bench.Snapshot(); snap.Stage != Idle || len(snap.Waiting.Parked) != 1 || snap.Waiting.Parked[0].Taken != 2 || snap.Waiting.Parked[0].Reason != "retuned, settling" {
		t.Fatalf("parked: %+v", snap.Waiting.Parked)
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	if snap := s.finish(nil); snap.Verdict.Disposition != inspect.Pass || len(snap.Waiting.Parked) != 1 {
		t.Fatalf("verdict %+v", snap.Verdict)
	}
	s.restart()
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2611"))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if snap := s.bench.Snapshot(); snap.Next != 1 || !strings.Contains(snap.Notice.Text, "after 1 crown: it is measured again, which is quicker than linking it, and it stays in the record.") || snap.Inspection.Attempt != 1 || len(snap.Waiting.Parked) != 0 {
		t.Fatalf("taken up at point %d of attempt %d", snap.Next, snap.Inspection.Attempt)
	}
}

// TestSerialNumbers refuses what is not a neck of this batch.
func TestSerialNumbers(t *testing.T) {
	s := open(t)
	s.refused(s.bench.Entry(s.ctx, "QM-2611-9999", "mm"), "QM-2611-9999")
	s.refused(s.bench.Entry(s.ctx, "QM-2612-0001", "mm"), "belongs to batch QM-2612")
	s.ok(s.bench.Entry(s.ctx, "  QM-2611-0001\t", "mm"))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm")) // scanned twice: nothing happens
	if s.bench.Snapshot().Inspection.Attempt != 1 {
		t.Fatal("a second scan began another attempt")
	}
}

// TestPatternRegisters lets a neck of an open-ended batch register itself by its serial number.
func TestPatternRegisters(t *testing.T) {
	s := open(t)
	specs, err := s.db.Specs(s.ctx)
	s.ok(err)
	must(t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "QM-2613", Spec: specs[0], Pattern: `QM-2613-\d{4}`}, nil))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2613"))
	s.refused(s.bench.Entry(s.ctx, "QM-2613-12", "mm"), "QM-2613-12")
	s.ok(s.bench.Entry(s.ctx, "QM-2613-0012", "mm"))
	if snap := s.bench.Snapshot(); snap.Serial != "QM-2613-0012" || snap.Counts.Registered != 1 {
		t.Fatalf("%q is on the bench, %d registered", snap.Serial, snap.Counts.Registered)
	}
}

// TestMisreadNumberIsRefused: of a batch whose numbers end in a check character one that was mistyped or misread is refused with the character that it
// should have, and nothing is registered; in mid-neck too, where a value stays a value.
func TestMisreadNumberIsRefused(t *testing.T) {
	s := open(t)
	specs, err := s.db.Specs(s.ctx)
	s.ok(err)
	right := recordtest.Must(batch.Mod37x36.Complete("QM-2613-0012"))(t)
	end := right[len(right)-1:]
	must(t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "QM-2613", Spec: specs[0], Pattern: `QM-2613-\d{4}.`, Check: batch.Mod37x36}, nil))
	must(t)(s.db.OpenBatch(s.ctx, "", batch.Batch{Number: "QM-2614", Spec: specs[0], Check: batch.Mod37x36}, []string{recordtest.Must(batch.Mod37x36.Complete("QM-2614-1"))(t)}))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2613"))
	for _, wrong := range []string{"QM-2613-0013" + end, "qm-2613-0013" + end, "]C0QM-2613-0021" + end} {
		s.refused(s.bench.Entry(s.ctx, wrong, "mm"), `ends in "`+end+`", and its check character (ISO/IEC 7064 MOD 37,36) is `)
	}
	s.ok(s.bench.Entry(s.ctx, "*"+strings.ToLower(right)+"*", "mm"))
	if snap := s.bench.Snapshot(); snap.Serial != right || snap.Counts.Registered != 1 {
		t.Fatalf("%q is on the bench, %d registered", snap.Serial, snap.Counts.Registered)
	}
	s.refused(s.bench.Entry(s.ctx, "]C0QM-2613-0013"+end, "mm"), "its check character")
	s.refused(s.bench.Entry(s.ctx, "nonsense", "mm"), "neither a value nor a serial number")
	s.ok(s.bench.Park(s.ctx, ""))
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2614"))
	s.refused(s.bench.Entry(s.ctx, "QM-2614-2", "mm"), "its check character")
}

// TestSkippedPointCannotPass leaves a limited characteristic unmeasured.
func TestSkippedPointCannotPass(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.ok(s.bench.Skip(s.ctx)) // fret 1, a datum of relief
	snap := s.finish(nil)
	if snap.Stage != PersonDecides || snap.Result.Conforms {
		t.Fatalf("stage %s, conforms %v", snap.Stage, snap.Result.Conforms)
	}
	s.refused(s.bench.Decide(s.ctx, inspect.Concession, "Wren Halloway", "short of time"), "granted by a quality manager")
	s.refused(s.bench.Decide(s.ctx, inspect.Rework, "Wren Halloway", " "), "reason")
	// The point can still be measured: then the neck passes.
	s.ok(s.bench.Choose(s.ctx, snap.Points[1].Key))
	if snap = s.finish(nil); snap.Stage != Decided || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v", snap.Stage, snap.Verdict)
	}
}

// TestUndecidedIsMeasuredAgain opens a second and third round for an action close to its limit, then asks a person.
func TestUndecidedIsMeasuredAgain(t *testing.T) {
	s := open(t)
	s.ok(s.bench.OpenBatch(s.ctx, "QM-2612"))
	s.ok(s.bench.Entry(s.ctx, "QM-2612-0001", "mm"))
	spec := s.bench.Snapshot().Batch.Spec.Spec
	if spec.Decision.Rule != "guarded_acceptance" {
		t.Fatalf("the flattop's rule is %s", spec.Decision.Rule)
	}
	limit := func(n int) (lo, hi float64) {
		for _, l := range spec.Limits {
			if l.Characteristic == "action" && l.String.Number == n {
				return *l.LowerMM, *l.UpperMM
			}
		}
		t.Fatalf("no limit for the action of string %d", n)
		return 0, 0
	}
	close := func(p routine.Point, mm float64) float64 {
		if p.Point.Kind == batch.ActionHeight {
			lo, hi := limit(p.Point.String)
			if p.Point.String == 3 {
				return lo + 0.0005
			}
			return (lo + hi) / 2
		}
		return mm
	}
	for s.bench.Snapshot().Round == 1 && s.bench.Snapshot().Next >= 0 {
		s.press(close)
	}
	snap := s.bench.Snapshot()
	if snap.Round != 2 || snap.Points[snap.Next].Point.String != 3 || snap.Points[snap.Next].Point.Kind != batch.ActionHeight {
		t.Fatalf("round %d asks for %+v", snap.Round, snap.Next)
	}
	u1 := uOf(t, snap.Result, 3)
	s.press(close)
	snap = s.bench.Snapshot()
	if u2 := uOf(t, snap.Result, 3); !(u2 < u1) {
		t.Fatalf("u did not fall with the second reading: %g then %g", u1, u2)
	}
	snap = s.finish(close)
	if snap.Stage != PersonDecides || snap.Round != 3 || snap.Verdict.Disposition != inspect.Remeasure {
		t.Fatalf("stage %s in round %d", snap.Stage, snap.Round)
	}
	if snap.Counts.Inspected != 0 {
		t.Fatalf("counts %+v: a remeasure is no inspection", snap.Counts)
	}
	s.restart()
	if got := s.bench.Snapshot(); got.Stage != PersonDecides || got.Round != 3 {
		t.Fatalf("after a restart: stage %s in round %d", got.Stage, got.Round)
	}
	s.ok(s.bench.Decide(s.ctx, inspect.Pass, "Ilse Marchetti-Roe", "three readings agree inside the limit"))
	if snap = s.bench.Snapshot(); snap.Stage != Decided || snap.Verdict.DecidedBy != "Ilse Marchetti-Roe" {
		t.Fatalf("stage %s, verdict %+v", snap.Stage, snap.Verdict)
	}
}

func uOf(t *testing.T, res *inspect.Result, n int) float64 {
	t.Helper()
	for _, c := range res.Characteristics {
		if c.Name == "action" && c.String == n && c.U != nil {
			return *c.U
		}
	}
	t.Fatalf("no action of string %d", n)
	return 0
}

// TestFootSwitchTakesTheLiveReading takes a streaming gauge's newest frame, and refuses an old one.
func TestFootSwitchTakesTheLiveReading(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Take(s.ctx)) // the declared pitch
	s.frame(carriage, 1.234, false)
	snap := s.bench.Snapshot()
	if !snap.Live.Has || !snap.Live.Fresh || snap.Live.MM != 1.234 {
		t.Fatalf("live %+v", snap.Live)
	}
	s.ok(s.bench.Take(s.ctx))
	if snap = s.bench.Snapshot(); snap.Points[1].Value != 1.234 {
		t.Fatalf("taken %+v", snap.Points[1])
	}
	s.set(s.at().Add(5 * time.Second))
	s.refused(s.bench.Take(s.ctx), "sent nothing for a second")
}

// TestStalledPageDelaysNothing never reads the signal of a watcher; readings go on, and a page that looks later sees
// the newest state.
func TestStalledPageDelaysNothing(t *testing.T) {
	s := open(t)
	_, stop := s.bench.Watch() // never read
	defer stop()
	changed, stopSecond := s.bench.Watch()
	var seen sync.WaitGroup
	seen.Go(func() {
		for range changed {
			if s.bench.Snapshot().Stage == Decided {
				return
			}
		}
	})
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(nil)
	seen.Wait()
	stopSecond()
}

// TestWatchersMayLeaveAtAnyTime is for the race detector.
func TestWatchersMayLeaveAtAnyTime(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	var pages sync.WaitGroup
	for range 50 {
		pages.Go(func() {
			changed, stop := s.bench.Watch()
			defer stop()
			select {
			case <-changed:
				_ = s.bench.Snapshot().Version
			case <-time.After(50 * time.Millisecond):
			}
		})
	}
	for range 30 {
		s.press(nil)
	}
	pages.Wait()
}
