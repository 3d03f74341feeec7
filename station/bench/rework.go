package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
)

// RecordRework notes what was done to the neck whose verdict is on the bench. A step that was recorded already since the neck was last
// measured is asked about.
func (b *Bench) RecordRework(ctx context.Context, a batch.ReworkAction) error {
	return b.does(ctx, toRework, func() error {
		n := b.neck()
		if err := checkRework(b.words, a); err != nil {
			return err
		}
		a = asAdvised(a, n.Result.Advice)
		for _, done := range n.rework {
			if sameWork(done, a) {
				b.notice = nil
				b.become(doubled{n, a, fmt.Sprintf("Already recorded at %s by %s: %s. Was it done again?",
					b.clock(done.At), done.By, tell.ReworkStep(done, unit.Millimetre))})
				return nil
			}
		}
		return b.keepRework(ctx, n, a)
	})
}

// asAdvised is work at the nut or the saddle with the string that the advice names for it, where nobody said where or how much: it was done as advised.
// Where the advice names several strings, or none, it may have been done at any.
func asAdvised(a batch.ReworkAction, advice []inspect.Advice) batch.ReworkAction {
	at := slices.IndexFunc(advice, func(step inspect.Advice) bool { return step.What == a.What })
	if at < 0 || a.What != inspect.StepNut && a.What != inspect.StepAction || a.String != 0 || a.Fret != 0 || a.AmountMM != 0 {
		return a
	}
	for i, it := range advice[at].Items {
		if i > 0 && it.String != a.String {
			a.String = 0
			break
		}
		a.String = it.String
	}
	return a
}

// sameWork says that two steps are the same work at the same place, however much was done.
func sameWork(a, b batch.ReworkAction) bool {
	return a.What == b.What && a.String == b.String && a.Fret == b.Fret && a.Track == b.Track
}

// answer records the step once more, or not.
func (s doubled) answer(ctx context.Context, b *Bench, again bool) error {
	if again {
		return b.keepRework(ctx, s.neck, s.step)
	}
	b.settle(s.neck)
	b.say(false, "Not recorded again. "+s.workSaid(b.words))
	return nil
}

// shown is the question's part of the snapshot.
func (s doubled) shown(b *Bench, shot *Snapshot) {
	s.neck.shown(b, shot)
	shot.Question = &Question{Words: tell.ReworkStep(s.step, unit.Millimetre), Rework: true, Asks: s.asks}
}

// keepRework records a step, which the demo's simulated necks obey.
func (b *Bench) keepRework(ctx context.Context, n *neck, a batch.ReworkAction) error {
	a.NeckID, a.InspectionID = n.Inspection.NeckID, n.Inspection.ID
	if a.By == "" {
		a.By = b.inspector
	}
	if a.What == inspect.StepRod {
		a.ReliefBefore, a.ReliefBeforeU = inspect.MeanRelief(n.Result)
		a.PredictedMM = predicted(n.Result.Advice, a.ReliefBefore, append(slices.Clone(n.rework), a))
	}
	done, err := b.inspections.AppendRework(context.WithoutCancel(ctx), a)
	if err != nil {
		return err
	}
	b.sounds(Taken)
	n.rework = append(slices.Clone(n.rework), done)
	b.settle(n)
	if b.reworked != nil {
		if err := b.reworked(n.Inspection.Serial, done, n.Result.Advice); err != nil {
			return fmt.Errorf("%s is recorded, but: %w", tell.ReworkStep(done, unit.Millimetre), err)
		}
	}
	b.say(false, n.workSaid(b.words))
	return nil
}

// workSaid says what is recorded since the verdict, and what comes next.
func (n *neck) workSaid(w tell.Words) string {
	var steps []string
	for _, a := range n.rework {
		steps = append(steps, tell.ReworkStep(a, unit.Millimetre))
	}
	if len(steps) == 0 {
		return w.Say("No rework step is recorded since the verdict.")
	}
	if routine.ReliefFirst(n.Spec, n.rework) {
		return "Recorded: " + strings.Join(steps, "; ") + ". Tune to pitch again; then " + tell.AfterRod(routine.StringsAsked(n.Spec)) + " (F6)."
	}
	return "Recorded: " + strings.Join(steps, "; ") + ". " + w.Say("Inspect the neck again when it has settled (F6).")
}

// TakeBackRework says that a rework step, by its ID, was not done. It counts until the neck is measured again.
func (b *Bench) TakeBackRework(ctx context.Context, id string) error {
	return b.does(ctx, toTakeBackWork, func() error {
		n := b.neck()
		for _, a := range n.rework {
			if a.ID == id {
				return b.takeWorkBack(ctx, n, a)
			}
		}
		return batch.Absent.Errorf(b.words.Say("%s has no such rework step that could be taken back: it can until the neck is measured again"), n.Inspection.Serial)
	})
}

// takeWorkBack takes a rework step back; the record keeps it.
func (b *Bench) takeWorkBack(ctx context.Context, n *neck, a batch.ReworkAction) error {
	back := a
	back.ID, back.At, back.By, back.Supersedes, back.Withdrawn = "", b.now(), b.inspector, a.ID, true
	done, err := b.inspections.AppendRework(context.WithoutCancel(ctx), back)
	if err != nil {
		return err
	}
	if b.reworked != nil {
		if err := b.reworked(n.Inspection.Serial, done, nil); err != nil {
			return err
		}
	}
	if err := b.reload(ctx); err != nil {
		return err
	}
	b.sounds(TakenBack)
	b.say(false, fmt.Sprintf("Taken back: %s. %s", tell.ReworkStep(a, unit.Millimetre), b.neck().workSaid(b.words)))
	return nil
}

// predicted is the mean relief after the turns of the rod recorded since the verdict, by the effect that its advice rests on, mm; nil
// where no turn was advised.
func predicted(advice []inspect.Advice, before *float64, done []batch.ReworkAction) *float64 {
	i := slices.IndexFunc(advice, func(a inspect.Advice) bool { return a.What == inspect.StepRod })
	if i < 0 || before == nil || advice[i].PredictedReliefMM == nil || advice[i].Turns == nil || *advice[i].Turns == 0 {
		return nil
	}
	advised := batch.ReworkAction{What: inspect.StepRod, Turns: *advice[i].Turns, Direction: advice[i].Direction}
	perTurn := (*advice[i].PredictedReliefMM - *before) / advised.SignedTurns()
	mm := *before
	for _, a := range done {
		mm += perTurn * a.SignedTurns()
	}
	return &mm
}

// checkRework refuses what cannot have been done, or must not be.
func checkRework(w tell.Words, a batch.ReworkAction) error {
	switch {
	case a.What == inspect.StepRod:
		if !(a.Turns > 0 && a.Turns <= 0.25) {
			return batch.Mendable.Errorf("truss rod, %g turn: a step is more than 0 and at most 1/4 turn; measure again between steps", a.Turns)
		}
		if a.Direction != "tighten" && a.Direction != "loosen" {
			return batch.Mendable.Errorf("truss rod, direction %q: allowed are tighten and loosen", a.Direction)
		}
	case !slices.Contains(inspect.Works(), a.What):
		return batch.Mendable.Errorf("%q is no kind of %s; allowed are %s", a.What, w.Say("rework step"), strings.Join(inspect.Works(), ", "))
	case a.Turns != 0:
		return batch.Mendable.Errorf("%s takes no turns", a.What)
	}
	if a.AmountMM != a.AmountMM || a.AmountMM < -5 || a.AmountMM > 5 {
		return batch.Mendable.Errorf("%s by %g mm: allowed is from -5 to 5 mm", a.What, a.AmountMM)
	}
	return nil
}
