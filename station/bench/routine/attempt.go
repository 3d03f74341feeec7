package routine

import (
	"math"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

// maxRounds is how often an undecided point is measured before a person decides: up to three readings are averaged.
const maxRounds = 3

// Attempt is one inspection of a neck: what it is judged by and what has been read.
type Attempt struct {
	Spec       *inspect.Spec // with its defaults
	Inspection batch.Inspection
	Routine    []Point // as Points gives them, without what is carried over
	Carried    []inspect.Characteristic
	Readings   []batch.Reading // all, in order, those taken back included
	Doubted    map[string]bool // IDs of readings in doubt
	Concluded  bool            // a verdict stands: what is in doubt is not asked for again
	Rod        RodHistory

	// Laying is the one that crowns are read in now, LaidAt when it began. 0: layings are not told and nothing is asked for because
	// of them.
	Laying  int
	LaidAt  time.Time
	EndedBy batch.Interruption // what ended the laying before
	Chosen  string             // key of a point that somebody asked for out of turn: a crown may need links first
}

// RodHistory is what is known of the truss rod before an attempt.
type RodHistory struct {
	Steps  []inspect.RodStep // this neck's turns, judged before this attempt
	Turn   *inspect.RodStep  // the turn that this attempt judges, nil when none does; what it did is not known yet
	Again  bool              // this attempt measures once more what the last of Steps did: nothing was done since
	Alone  bool              // since the verdict before this attempt the rod was turned one way, and nothing else done
	Turned float64           // net turns before this attempt since a repairer worked on the neck, alone or with other work, positive tightened
	Model  inspect.RodModel
}

// again reports that there is a step to be measured once more.
func (h *RodHistory) again() bool { return h.Again && len(h.Steps) > 0 }

// Judge evaluates the readings given; what is not measured yet is not judged.
func (a *Attempt) Judge(readings []batch.Reading) (*inspect.Readings, *inspect.Result, error) {
	in := batch.Assemble(a.Spec, a.Inspection, readings, a.Rod.Steps)
	in.RodTurned = &a.Rod.Turned
	res, err := inspect.Evaluate(a.Spec, in, inspect.Options{Rod: a.Rod.Model, Carried: a.Carried})
	if err != nil || a.Rod.Turn == nil && !a.Rod.again() {
		return in, res, err
	}
	mean, u := inspect.MeanRelief(res)
	if mean == nil {
		return in, res, nil
	}
	// What the turn did is part of this neck's history now: it teaches the advice, and may stop it.
	in.RodSteps = slices.Clone(a.Rod.Steps)
	if a.Rod.Turn == nil {
		last := &in.RodSteps[len(in.RodSteps)-1]
		last.ReliefAgainMM = append(slices.Clone(last.ReliefAgainMM), *mean)
	} else {
		step, fall := *a.Rod.Turn, math.Hypot(*a.Rod.Turn.UMM, u)
		step.ReliefAfterMM, step.UMM = *mean, &fall
		in.RodSteps = append(in.RodSteps, step)
	}
	res, err = inspect.Evaluate(a.Spec, in, inspect.Options{Rod: a.Rod.Model, Carried: a.Carried})
	return in, res, err
}

// Turns tells of the rework done on a neck what an inspection has to know: the turn of the rod that it judges, all turns recorded
// against the verdict before it when they are one step (see batch.RodWork), nil when there is none (its UMM is that of the relief
// before); whether nothing, pitch apart, was recorded against that verdict and a turn alone is the newest work, so that the inspection
// measures again what the turn did; and the sum of all turns recorded against earlier verdicts since a repairer worked on the neck, positive
// tightened.
func Turns(in batch.Inspection, attempts []batch.Inspection, done []batch.ReworkAction) (turn *inspect.RodStep, again bool, net float64) {
	before, earlier := JudgedBefore(in, attempts), map[string]bool{}
	for _, a := range attempts {
		earlier[a.ID] = a.Attempt < in.Attempt
	}
	var newest []batch.ReworkAction // the newest work, all against one verdict, pitch apart
	foreign := false                // the work before it was no step of the rod
	for _, a := range done {
		if !earlier[a.InspectionID] || a.What == inspect.StepPitch {
			continue
		}
		switch a.What {
		case inspect.StepRepairer:
			net = 0
		case inspect.StepRod:
			net += a.SignedTurns()
		}
		if len(newest) > 0 && newest[0].InspectionID != a.InspectionID {
			foreign = !batch.SumRodWork(newest).Alone
			newest = nil
		}
		newest = append(newest, a)
	}
	sum := batch.SumRodWork(newest)
	switch {
	case !sum.Alone || newest[0].ReliefBefore == nil:
		return nil, false, net
	case newest[0].InspectionID != before:
		return nil, true, net
	}
	return &inspect.RodStep{Turns: sum.Turns, Direction: sum.Direction, ReliefBeforeMM: *newest[0].ReliefBefore, UMM: &newest[0].ReliefBeforeU, NewSetUp: foreign}, false, net
}

// JudgedBefore is the ID of the newest judged attempt before an inspection, "" when there is none.
func JudgedBefore(in batch.Inspection, attempts []batch.Inspection) string {
	before, _ := batch.Before(in, attempts)
	return before.ID
}
