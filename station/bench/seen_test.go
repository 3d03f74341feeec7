package bench

import (
	"context"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// seen is a context of what a page shows that is up to date.
func (s *shop) seen() context.Context {
	now := s.bench.Snapshot()
	return Saw(s.ctx, Seen{Inspection: now.inspectionID(), Scene: now.Scene, At: s.at()})
}

// A command from a page that shows what is gone does nothing: a concession meant for one neck is not recorded on the next, a value
// typed for one point is not the next one's, and nothing reaches the neck beneath a check that has begun.
func TestCommandsHitWhatWasSeen(t *testing.T) {
	s := open(t)
	s.bowed()
	stale := s.seen()
	s.ok(s.bench.Clear(s.ctx))
	s.ok(s.bench.Entry(s.ctx, "QM-2611-0002", "mm"))
	s.finish(s.withBow(0.13))
	s.refused(s.bench.Decide(stale, inspect.Concession, "Ilse Marchetti-Roe", "agreed with the customer"), "the bench now holds QM-2611-0002, attempt 1, judged rework: nothing was done")
	if got := s.bench.Snapshot().Verdict; got.Disposition != inspect.Rework {
		t.Fatalf("%+v", got)
	}
	s.ok(s.bench.Decide(s.seen(), inspect.Concession, "Ilse Marchetti-Roe", "agreed with the customer"))

	s.ok(s.bench.Entry(s.seen(), "QM-2611-0003", "mm"))
	s.ok(s.bench.Declare(s.seen()))
	before := s.seen()
	s.press(nil)
	s.refused(s.bench.Entry(before, "0.31", "mm"), "the bench now holds QM-2611-0003, attempt 1, and asks for bass side, fret 2")
	s.refused(s.bench.Undo(before), "nothing was done")
	before = s.seen()
	s.ok(s.bench.CheckGauge(s.seen(), height))
	s.refused(s.bench.Take(before), "the bench now holds a check of the height gauge")
	s.ok(s.bench.CancelCheck(s.seen()))
	s.press(nil)
	before = s.seen()
	s.frameAs(carriage, 0.3, "in", true, time.Second)
	s.refused(s.bench.Skip(before), "with a question about bass side, fret 2")
	s.ok(s.bench.Answer(s.seen(), false))
	before = s.seen()
	s.ok(s.bench.Moved(s.seen()))
	s.refused(s.bench.Skip(before), "nothing was done")
	for _, p := range s.bench.Snapshot().Points {
		if p.Skipped {
			t.Errorf("%s is marked as not to be measured", p.Words)
		}
	}
}

// Live readings, gauges' states and notices change nothing that a command could be meant for.
func TestLiveReadingsLeaveTheScene(t *testing.T) {
	s := in(t, isMeasuring)
	before := s.seen()
	s.frame(carriage, 0.5, false)
	s.bench.Refuse(batch.Conflict.Errorf("something was refused"))
	s.ok(s.bench.SetInspector(s.seen(), "Wren Halloway"))
	s.ok(s.bench.Skip(before))
}

// What comes more than two seconds after the key was pressed does nothing, and says so; a restart leaves no page's scene.
func TestLateCommandsAreRefused(t *testing.T) {
	s := in(t, isMeasuring)
	before := s.seen()
	s.set(s.at().Add(2*time.Second + time.Millisecond))
	s.refused(s.bench.Skip(before), "too late: nothing was done")
	s.set(s.at().Add(-time.Second))
	s.ok(s.bench.Skip(before))

	before = s.seen()
	s.set(s.at().Add(time.Second))
	s.restart()
	s.refused(s.bench.Skip(before), "the bench now holds")
}

// A question is answered by its own keys: the key that takes readings takes none and answers nothing.
func TestTakeAnswersNoQuestion(t *testing.T) {
	s := in(t, isQuestioned)
	taken := s.bench.Snapshot().Taken
	s.refused(s.bench.Take(s.ctx), "F3 uses it, F2 discards it")
	s.refused(s.bench.FootPress(s.ctx, false), "is questioned")
	if got := s.bench.Snapshot(); got.Question == nil || got.Taken != taken {
		t.Fatalf("%+v", got.Question)
	}
}
