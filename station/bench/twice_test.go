package bench

import (
	"math"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

var eighth = batch.ReworkAction{What: inspect.StepRod, Turns: 0.125, Direction: "tighten"}

// bowed measures a neck with too much relief to its verdict.
func (s *shop) bowed() {
	s.t.Helper()
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0001", "mm"))
	s.finish(s.withBow(0.12))
	if got := s.bench.Snapshot(); got.Verdict == nil || got.Verdict.Disposition != inspect.Rework {
		s.t.Fatalf("%+v", got.Verdict)
	}
}

// steps are the rework steps that stand in the record.
func (s *shop) steps() []batch.ReworkAction {
	s.t.Helper()
	done, err := s.db.Rework(s.ctx, s.bench.Snapshot().Inspection.NeckID)
	s.ok(err)
	return done
}

// The same step recorded twice between two measurements is asked about, and recorded only on a yes; other work is not.
func TestReworkRecordedTwiceIsAskedAbout(t *testing.T) {
	s := open(t)
	s.bowed()
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	at := s.bench.clock(s.at())
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	got := s.bench.Snapshot()
	if len(s.steps()) != 1 || got.Question == nil || got.Question.Asks != "Already recorded at "+at+" by Wren Halloway: truss rod, tighten 1/8 turn. Was it done again?" {
		t.Fatalf("%d steps, %+v", len(s.steps()), got.Question)
	}
	s.refused(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"), "F2 does not")
	s.ok(s.bench.Answer(s.ctx, false))
	if got := s.bench.Snapshot(); len(s.steps()) != 1 || got.Question != nil || got.Stage != Decided || !strings.Contains(got.Notice.Text, "Recorded: truss rod") {
		t.Fatalf("%d steps, %+v", len(s.steps()), got.Notice)
	}
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	s.ok(s.bench.Answer(s.ctx, true))
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepNut, String: 1}))
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepNut, String: 2}))
	if got := s.bench.Snapshot(); len(s.steps()) != 4 || len(got.Rework) != 4 || got.Question != nil {
		t.Fatalf("%d steps, %+v", len(s.steps()), got.Question)
	}
}

// Turns recorded between two measurements are one step to the rod's history.
func TestTurnsBetweenMeasurementsAreOneStep(t *testing.T) {
	s := open(t)
	s.bowed()
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	s.ok(s.bench.Answer(s.ctx, true))
	s.ok(s.bench.Again(s.ctx))
	if got := s.finish(nil).Readings.RodSteps; len(got) != 1 || got[0].Turns != 0.25 || got[0].Direction != "tighten" {
		t.Errorf("%+v", got)
	}
}

// What is predicted is what was done, not what was advised, and together with the turns recorded before it.
func TestPredictedIsOfTheTurnsDone(t *testing.T) {
	s := open(t)
	s.bowed()
	step := s.bench.Snapshot().Result.Advice[0]
	before, _ := inspect.MeanRelief(s.bench.Snapshot().Result)
	sixteenth := (*step.PredictedReliefMM - *before) / (*step.Turns * 16) // tightened
	turn := func(way string, sixteenths float64) {
		s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepRod, Turns: sixteenths / 16, Direction: way}))
		if s.bench.Snapshot().Question != nil {
			s.ok(s.bench.Answer(s.ctx, true))
		}
	}
	turn("tighten", 1)
	turn("tighten", 2)
	turn("loosen", 4)
	done := s.steps()
	for i, net := range []float64{1, 3, -1} {
		if got, want := *done[i].PredictedMM, *before+net*sixteenth; math.Abs(got-want) > 1e-9 || step.Direction != "tighten" {
			t.Errorf("step %d: predicted %v, want %v", i+1, got, want)
		}
	}
}

// A step that moved relief the wrong way stays in the verdict's words also where relief conforms after it.
func TestWrongWayIsInTheRecordThoughReliefConforms(t *testing.T) {
	s := open(t)
	s.bowed()
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepRod, Turns: 0.1875, Direction: "loosen"}))
	s.ok(s.bench.Again(s.ctx))
	got := s.finish(nil)
	kept, err := s.db.LatestVerdict(s.ctx, got.Inspection.ID)
	s.ok(err)
	if kept.Disposition != inspect.Pass || !strings.Contains(kept.Result.RodNote, "(loosen 3/16 turn) moved relief") || !strings.Contains(kept.Result.RodNote, "the wrong way") {
		t.Errorf("%s: %q", kept.Disposition, kept.Result.RodNote)
	}
}

// A recorded step is taken back until the neck is measured again: by itself, with the key that takes back, after a restart, and after
// the next attempt has begun. The rod's history forgets it.
func TestReworkIsTakenBack(t *testing.T) {
	s := open(t)
	s.bowed()
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	s.ok(s.bench.RecordRework(s.ctx, batch.ReworkAction{What: inspect.StepNut, String: 1}))
	s.ok(s.bench.TakeBackRework(s.ctx, s.bench.Snapshot().Rework[0].ID))
	if got := s.bench.Snapshot(); len(got.Rework) != 1 || got.Rework[0].What != inspect.StepNut || !strings.Contains(got.Notice.Text, "Taken back: truss rod") {
		t.Fatalf("%+v, %+v", got.Rework, got.Notice)
	}
	s.ok(s.bench.Undo(s.ctx)) // the step, not the reading
	if got := s.bench.Snapshot(); got.Stage != Decided || len(got.Rework) != 0 || len(s.steps()) != 0 {
		t.Fatalf("%s, %+v", got.Stage, s.steps())
	}
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	s.ok(s.bench.Again(s.ctx))
	s.restart()
	s.ok(s.bench.SetInspector(s.ctx, "Wren Halloway"))
	before := s.bench.neck().Rod.Turn
	s.ok(s.bench.TakeBackRework(s.ctx, s.bench.Snapshot().Rework[0].ID))
	if got := s.bench.neck().Rod; before == nil || got.Turn != nil || got.Turned != 0 {
		t.Fatalf("the turn before is %+v, after %+v", before, got)
	}
	s.refused(s.bench.Undo(s.ctx), "nothing has been taken") // of this attempt, and nothing is left before it
}

func TestReworkIsNotTakenBackAfterAReading(t *testing.T) {
	s := open(t)
	s.bowed()
	s.ok(s.bench.RecordRework(s.ctx, eighth))
	id := s.bench.Snapshot().Rework[0].ID
	s.ok(s.bench.Again(s.ctx))
	s.press(nil)
	if got := s.bench.Snapshot().Rework; got != nil {
		t.Errorf("still offered: %+v", got)
	}
	s.refused(s.bench.TakeBackRework(s.ctx, id), "until the neck is measured again")
}
