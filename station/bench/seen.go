package bench

import (
	"context"
	"fmt"
	"time"

	"sagitta/batch"
)

// Seen is what the page showed from which a command comes. Its zero value is a command of a program, which saw nothing and is held to
// nothing.
type Seen struct {
	Inspection string    // ID of the one on the bench, "" when none was
	Scene      uint64    // the snapshot's; 0: it is not held to what was seen
	At         time.Time // when the key was pressed; zero: it is not held to its age
}

// stalest is how old a command may be when it is carried out: what waited longer was meant for what nobody sees any more.
const stalest = 2 * time.Second

type seenKey struct{}

// Saw holds the commands that are called with the context to what their page showed.
func Saw(ctx context.Context, s Seen) context.Context { return context.WithValue(ctx, seenKey{}, s) }

// SeenIn is what a command that is called with the context is held to.
func SeenIn(ctx context.Context) Seen {
	s, _ := ctx.Value(seenKey{}).(Seen)
	return s
}

// Holds says whether a command that saw what the context says would still hit it.
func (b *Bench) Holds(ctx context.Context) error {
	return b.do(ctx, func() error { return nil })
}

// hits refuses a command that was meant for something else than what is on the bench, or comes too late.
func (b *Bench) hits(ctx context.Context) error {
	s := SeenIn(ctx)
	now := b.snap.Load()
	if s.Scene != 0 && (s.Scene != now.Scene || s.Inspection != now.inspectionID()) {
		return batch.Conflict.Errorf("the bench now holds %s: nothing was done. What was pressed was meant for what the page showed before", b.holdsNow())
	}
	if late := b.now().Sub(s.At); !s.At.IsZero() && late > stalest {
		return batch.Conflict.Errorf("this was pressed %.0f s ago and came too late: nothing was done. See what the bench shows now, and press again", late.Seconds())
	}
	return nil
}

// holdsNow names what is on the bench.
func (b *Bench) holdsNow() string {
	n := b.neck()
	switch s := b.state.(type) {
	case checking:
		return "a check of the " + s.Gauge.Name
	case studying:
		return "a study of the " + s.gauge.Name
	}
	if n == nil {
		return b.words.Say("no neck")
	}
	held := fmt.Sprintf("%s, attempt %d", n.Inspection.Serial, n.Inspection.Attempt)
	switch s := b.state.(type) {
	case questioned:
		return held + ", with a question about " + s.question.Words
	case doubled:
		return held + ", with a question about " + b.words.Say("its rework")
	case decided:
		return fmt.Sprintf("%s, judged %s", held, b.words.Say(n.verdict.Disposition))
	}
	if p := n.point(); p != nil {
		return held + ", and asks for " + p.Words
	}
	return held
}

// inspectionID is the inspection's that a snapshot shows, "" for none.
func (s *Snapshot) inspectionID() string {
	if s.Inspection == nil {
		return ""
	}
	return s.Inspection.ID
}

// scene names what a command could be meant for: what is on the bench and what is asked. Live readings, gauges' states and notices
// are no part of it.
func (s *Snapshot) scene() string {
	batchID, verdict, question, check, study := "", "", "", "", 0
	if s.Batch != nil {
		batchID = s.Batch.ID
	}
	if s.Verdict != nil {
		verdict = s.Verdict.ID
	}
	if s.Question != nil {
		question = s.Question.Asks
	}
	if s.Check != nil {
		check = fmt.Sprint(s.Check.GaugeID, s.Check.Place)
	}
	if s.Study != nil {
		study = 1 + s.Study.Taken
	}
	running := s.Sweep != nil && s.Sweep.Running
	return fmt.Sprint(s.Stage, batchID, s.inspectionID(), s.Next, s.Round, s.Taken, s.Laying, s.Purpose, len(s.Rework), running, study, "/", verdict, "/", question, "/", check)
}
