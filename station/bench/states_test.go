package bench

import (
	"context"
	"strconv"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/inspect"
)

// unsettled brings a neck to where a person must decide: its first crown was left out.
func unsettled(t *testing.T) (*shop, *Snapshot) {
	t.Helper()
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.ok(s.bench.Skip(s.ctx))
	snap := s.finish(nil)
	if snap.Stage != PersonDecides {
		t.Fatalf("stage %s", snap.Stage)
	}
	return s, snap
}

// TestDecisionIsFinal keeps presses and answers that come after a person's word from taking it back.
func TestDecisionIsFinal(t *testing.T) {
	s, snap := unsettled(t)
	s.ok(s.bench.Choose(s.ctx, snap.Points[1].Key))
	s.frameAs(carriage, 0.3, "in", true, time.Second) // in another unit: held
	if s.bench.Snapshot().Question == nil {
		t.Fatal("nothing is held")
	}
	s.refused(s.bench.Decide(s.ctx, inspect.Pass, "Ilse Marchetti-Roe", "seen by eye"), "answer it first")
	s.refused(s.bench.Skip(s.ctx), "answer it first")
	s.ok(s.bench.Answer(s.ctx, false))
	s.ok(s.bench.Decide(s.ctx, inspect.Pass, "Ilse Marchetti-Roe", "seen by eye"))
	taken := s.bench.Snapshot().Taken
	s.frame(carriage, 0.3, true)
	snap = s.bench.Snapshot()
	if snap.Taken != taken || snap.Stage != Decided || snap.Verdict.DecidedBy != "Ilse Marchetti-Roe" {
		t.Fatalf("after a further press: %d more readings, stage %s, verdict %+v", snap.Taken-taken, snap.Stage, snap.Verdict)
	}
}

// TestChosenPointIsAskedFor measures a point again, by hand and by gauge, where a person would have to decide.
func TestChosenPointIsAskedFor(t *testing.T) {
	s, snap := unsettled(t)
	s.ok(s.bench.Choose(s.ctx, snap.Points[1].Key))
	if got := s.bench.Snapshot(); got.Stage != Measuring || got.Next != 1 {
		t.Fatalf("stage %s, asks for %d", got.Stage, got.Next)
	}
	s.ok(s.bench.Choose(s.ctx, snap.Points[1].Key)) // chosen again: no longer asked for
	if got := s.bench.Snapshot(); got.Stage != PersonDecides || got.Next != -1 {
		t.Fatalf("stage %s, asks for %d", got.Stage, got.Next)
	}
	s.ok(s.bench.Choose(s.ctx, snap.Points[1].Key))
	mm := good(snap.Points[1], snap.Batch.Spec.Spec)
	s.ok(s.bench.Entry(s.ctx, strconv.FormatFloat(mm, 'f', 3, 64), "mm"))
	if got := s.finish(nil); got.Stage != Decided || got.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v, notice %+v", got.Stage, got.Verdict, got.Notice)
	}
}

// TestUnsettledNeckStaysOnTheBench refuses the next neck and another batch until a person has decided or parked it.
func TestUnsettledNeckStaysOnTheBench(t *testing.T) {
	s, _ := unsettled(t)
	s.refused(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"), "park it")
	s.refused(s.bench.OpenBatch(s.ctx, "QM-2612"), "park it")
	s.refused(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: "truss rod", Turns: 0.25, Direction: "tighten"}), "against a verdict")
	s.ok(s.bench.Park(s.ctx, ""))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	if p := s.bench.Snapshot().Waiting.Parked; len(p) != 1 || p[0].Serial != "QM-2611-0001" {
		t.Fatalf("parked %+v", p)
	}
}

// TestSkipTakesTheReadingBack: a point that is marked as not to be measured does not count with an older reading.
func TestSkipTakesTheReadingBack(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.press(nil) // fret 1, bass
	s.press(nil)
	s.ok(s.bench.Choose(s.ctx, s.bench.Snapshot().Points[1].Key))
	s.ok(s.bench.Skip(s.ctx))
	snap := s.bench.Snapshot()
	if p := snap.Points[1]; p.Taken || !p.Skipped {
		t.Fatalf("point %+v", p)
	}
	if z := snap.Readings.Profile[0].ZMM[0]; z != nil {
		t.Fatalf("the crown that is marked as not measured still counts with %g mm", *z)
	}
	if snap = s.finish(nil); snap.Stage != PersonDecides {
		t.Fatalf("stage %s", snap.Stage)
	}
}

// TestFrameIsTakenOnce: a foot switch that bounces, or is pressed before the gauge has sent again, does not use one
// frame for two points.
func TestFrameIsTakenOnce(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.ok(s.bench.Take(s.ctx))
	s.frame(carriage, 1.234, false)
	s.ok(s.bench.Take(s.ctx))
	taken := s.bench.Snapshot().Taken
	s.refused(s.bench.Take(s.ctx), "nothing since")
	s.frameAs(carriage, 1.234, "mm", false, 100*time.Millisecond)
	s.refused(s.bench.Take(s.ctx), "less than 400 ms before")
	if snap := s.bench.Snapshot(); snap.Taken != taken || snap.Question != nil {
		t.Fatalf("%d readings taken, held %+v", snap.Taken-taken, snap.Question)
	}
}

// TestSameProfileWithoutClearing asks although the next serial number was scanned straight away.
func TestSameProfileWithoutClearing(t *testing.T) {
	s := open(t)
	for _, serial := range []string{"QM-2611-0001", "QM-2611-0002"} {
		s.ok(s.bench.Entry(s.ctx, serial, "mm"))
		for s.bench.Snapshot().Next >= 0 && s.bench.Snapshot().Question == nil {
			s.press(nil)
		}
	}
	if h := s.bench.Snapshot().Question; h == nil || !strings.Contains(h.Asks, "equal those of QM-2611-0001") {
		t.Fatalf("held %+v", h)
	}
}

// TestLostGaugeBreaksItsCheck: the zero taken before the cable was pulled is none after it.
func TestLostGaugeBreaksItsCheck(t *testing.T) {
	s := open(t)
	s.ok(s.bench.CheckGauge(s.ctx, height))
	s.frame(height, 0, true)
	s.bench.Health(devices.Health{Gauge: height, State: devices.StateUnplugged, Since: s.at()})
	if c := s.bench.Snapshot().Check; c != nil {
		t.Fatalf("the check goes on: %+v", c)
	}
}

// TestGaugeThatWasNotThereIsChecked: a gauge that is found only after the station's start may have been dropped.
func TestGaugeThatWasNotThereIsChecked(t *testing.T) {
	s := open(t)
	s.bench.Health(devices.Health{Gauge: height, State: devices.StateMissing, Since: s.at()})
	s.set(s.at().Add(time.Second))
	s.bench.Health(devices.Health{Gauge: height, State: devices.StateWaiting, Since: s.at()})
	if g := s.bench.Snapshot().Gauges[1]; !g.Locked {
		t.Fatalf("gauge %+v", g)
	}
}

// TestLiveReadingAges: what a silent gauge showed last is not shown as live.
func TestLiveReadingAges(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	s.frame(carriage, 1.234, false)
	s.bench.Health(devices.Health{Gauge: carriage, State: devices.StateSilent, Since: s.at()})
	if l := s.bench.Snapshot().Live; l.Fresh || !l.Has {
		t.Fatalf("live %+v", l)
	}
}

// TestDeadRodStopsAtTheAttemptThatShowsIt: a double-acting rod that moves nothing is measured twice more after its first turn, then
// turned by eighths, and goes to the repairer after 7/8 turn; each attempt's advice knows what the turns before it did.
func TestDeadRodStopsAtTheAttemptThatShowsIt(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	dead := s.withBow(0.2) // more relief than a sound neck has
	steps, again, turned := 0, 0, 0.0
	for {
		snap := s.finish(dead)
		step := snap.Result.Advice[0]
		if n := len(snap.Readings.RodSteps); n != steps {
			t.Fatalf("%d turns are known, want %d", n, steps)
		}
		if step.What == inspect.StepRepairer {
			if snap.Verdict.Disposition != inspect.Repair {
				t.Fatalf("%s, advice %+v", snap.Verdict.Disposition, step)
			}
			break
		}
		switch {
		case step.What == inspect.StepMeasure && steps == 1 && again < 2:
			again++
		case step.What == inspect.StepRod && (steps == 0 || *step.Turns <= 0.125) && turned < 1:
			s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: step.What, Turns: *step.Turns, Direction: step.Direction}))
			steps++
			turned += *step.Turns
		default:
			t.Fatalf("after %d steps, %g turns, measured %d times more: advice %+v", steps, turned, again, step)
		}
		s.ok(s.bench.Again(s.ctx))
	}
	if again != 2 || turned != 0.875 {
		t.Errorf("measured %d times more, turned %g, want 2 and 0.875", again, turned)
	}
	// Taking the last reading back and measuring it again does not count the turn twice.
	s.ok(s.bench.Undo(s.ctx))
	if n := len(s.finish(dead).Readings.RodSteps); n != steps {
		t.Fatalf("%d turns after the last reading was measured again, want %d", n, steps)
	}
}

// TestPageLeavesDuringTheLastReading: the verdict is recorded although the page that typed the last value went away
// between the two commits.
func TestPageLeavesDuringTheLastReading(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for {
		if snap := s.bench.Snapshot(); snap.Next == len(snap.Points)-1 {
			break
		}
		s.press(nil)
	}
	ctx, leave := context.WithCancel(s.ctx)
	s.faulty.after = leave
	snap := s.bench.Snapshot()
	s.ok(s.bench.Entry(ctx, strconv.FormatFloat(good(snap.Points[snap.Next], snap.Batch.Spec.Spec), 'f', 3, 64), "mm"))
	if snap = s.bench.Snapshot(); snap.Stage != Decided {
		t.Fatalf("stage %s, notice %+v", snap.Stage, snap.Notice)
	}
}

// TestAbandon gives an inspection up with a reason; its readings stay and the next one is another attempt.
func TestAbandon(t *testing.T) {
	s := open(t)
	s.refused(s.bench.Abandon(s.ctx, "dropped"), "no neck is on the bench")
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.press(nil)
	first := s.bench.Snapshot().Inspection.ID
	s.refused(s.bench.Abandon(s.ctx, " "), "reason")
	s.ok(s.bench.Abandon(s.ctx, "scanned by mistake"))
	if snap := s.bench.Snapshot(); snap.Stage != Idle || len(snap.Waiting.Parked) != 0 {
		t.Fatalf("stage %s, parked %+v", snap.Stage, snap.Waiting.Parked)
	}
	readings, err := s.db.Readings(s.ctx, first)
	s.ok(err)
	if len(readings) != 1 {
		t.Fatalf("%d readings kept, want 1", len(readings))
	}
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	if snap := s.bench.Snapshot(); snap.Inspection.Attempt != 2 || snap.Taken != 0 {
		t.Fatalf("attempt %d with %d readings", snap.Inspection.Attempt, snap.Taken)
	}
}

// TestNobodyDecidesAfterRework keeps a decision to the neck that was measured.
func TestNobodyDecidesAfterRework(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(nil)
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: "pitch"}))
	s.refused(s.bench.Decide(s.ctx, inspect.Scrap, "Ilse Marchetti-Roe", "cracked while tuning"), "inspect it again")
}

// TestReopenedButNotTakenBack is an inspection that an older version opened and was ended before it took the last reading back: the verdict is
// concluded anew and the inspection is finished.
func TestReopenedButNotTakenBack(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	in := s.finish(nil).Inspection
	s.ok(s.db.SetInspectionState(s.ctx, "Wren Halloway", in.ID, batch.Open, "last reading taken back"))
	s.restart()
	got, err := s.db.Inspection(s.ctx, in.ID)
	s.ok(err)
	if snap := s.bench.Snapshot(); got.State != batch.Finished || snap.Stage != Decided {
		t.Fatalf("the inspection is %s, the bench %s", got.State, snap.Stage)
	}
}

// TestVerdictIsTriedAgain: a verdict that the record could not keep is the machine's matter; the reading that completed the routine
// counts, and Space tries again.
func TestVerdictIsTriedAgain(t *testing.T) {
	s := open(t)
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	for snap := s.bench.Snapshot(); snap.Next < len(snap.Points)-1; snap = s.bench.Snapshot() {
		s.press(nil)
	}
	full := errFull
	s.faulty.failVerdict.Store(&full)
	s.press(nil)
	snap := s.bench.Snapshot()
	if snap.Stage != Measuring || snap.Next != -1 || snap.Taken != len(snap.Points) || !strings.Contains(snap.Notice.Text, "verdict was NOT recorded: the disk is full. Space tries again") {
		t.Fatalf("stage %s, next %d, notice %+v", snap.Stage, snap.Next, snap.Notice)
	}
	if err := s.bench.Take(s.ctx); batch.KindOf(err) != batch.Machine {
		t.Errorf("%v of kind %d", err, batch.KindOf(err))
	}
	s.refused(s.bench.Skip(s.ctx), "Space tries again")
	s.faulty.failVerdict.Store(nil)
	s.ok(s.bench.Take(s.ctx))
	if snap = s.bench.Snapshot(); snap.Stage != Decided || snap.Verdict.Disposition != inspect.Pass {
		t.Fatalf("stage %s, verdict %+v", snap.Stage, snap.Verdict)
	}
}
