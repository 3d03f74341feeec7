package inspect

import (
	"fmt"
	"math"
)

// stopHistory says what the rod's past steps forbid.
func (e *evaluation) stopHistory(st *rodState, stop func(sentence string, defects ...string)) {
	h := &st.history
	turned := fmt.Sprintf("%s in one direction", TurnsWords(h.run.turns))
	switch needs := math.Copysign(1, st.advice.Needed); {
	case h.wrong > 1:
		stop("The rod moved relief the wrong way twice: no further turn. Its thread may be reversed, or the neck is still moving", reversedRod.Defect)
	case h.stopped:
		stop("The rod had no effect twice: no further turn. It may be stuck, at its end or crushing wood", stuckRod.Defect, deadRod.Defect)
	case h.lost:
		stop("The double-acting rod did not take hold after "+turned+": no further turn. Its nut may be stripped or the rod broken", deadRod.Defect)
	case h.run.turns > mostRun, !st.undoHelps() && st.direction != "" && needs == h.run.dir && st.most == 0:
		stop("The rod has been turned "+turned+": no more than one turn, whatever it did", deadRod.Defect)
	}
}

// most is how many turns the next step may have in a direction, in sixteenths: a quarter, an eighth in a slack zone or after a step that
// went the wrong way, and no more than is left of one turn in the run.
func (h *rodHistory) most(dir float64) float64 {
	most := mostTurns
	if h.run.slack && h.run.dir == dir || h.astray != nil {
		most = slackStep
	}
	return math.Floor(min(most, h.room(dir))*16) / 16
}

// undoHelps reports that undoing the last step, which went the wrong way, brings relief nearer to its target than it is.
func (st *rodState) undoHelps() bool {
	undo := st.history.undo
	return undo != nil && (math.IsNaN(st.mean) || (st.target-st.mean)*(undo.now()-undo.ReliefBeforeMM) <= 0)
}

// undo is the step that takes back the last one, which went the wrong way, by a quarter turn at most. Nothing else is advised before it.
func (p *plan) undo(rod rodState) Advice {
	last := rod.history.undo
	back, should := "loosen", "fall"
	if last.Direction == "loosen" {
		back, should = "tighten", "rise"
	}
	turns := min(last.Turns, mostTurns)
	_, _, u := last.fall()
	relief := last.now()
	relief += (last.ReliefBeforeMM - relief) * turns / last.Turns
	half := 2 * math.Hypot(u, turns*rod.sd)
	a := Advice{Order: 1, What: StepRod, Direction: back, Turns: &turns, PredictedReliefMM: &relief, IntervalMM: &[2]float64{relief - half, relief + half}}
	quarter := ""
	if turns < last.Turns {
		quarter = ", a quarter at most at a step"
	}
	a.Why = fmt.Sprintf("The rod went the wrong way: relief should %s and moved %s the other way. Undo the last step (%s %s%s), retune, measure again; "+
		"no further turn and no other work before that. %s",
		should, p.now.spec.length(rod.history.rose), last.Direction, TurnsWords(last.Turns), quarter, wrongWayCauses)
	a.Defects = []string{reversedRod.Defect}
	return a
}

const wrongWayCauses = "Likely a reversed thread, the other end of a double-acting rod, or a neck still moving"

// astrayWords says that the last step of the rod went the wrong way, "" where it did not.
func (e *evaluation) astrayWords(h *rodHistory) string {
	if h.astray == nil {
		return ""
	}
	return fmt.Sprintf("The last step of the rod (%s %s) moved relief %s the wrong way. %s",
		h.astray.Direction, TurnsWords(h.astray.Turns), e.spec.length(h.rose), wrongWayCauses)
}

// measure says what is to be measured again before anything after it.
func (p *plan) measure(a *Advice, rows []*Characteristic, rod rodState) error {
	if again := rod.history.again; again > 0 {
		times := map[int]string{1: "once", 2: "twice"}[again]
		a.Why = "The last step of the rod had no effect. Retune and measure relief " + times + " more: the mean of the three counts from then on"
		if rod.history.run.slack {
			a.Why += ". A double-acting rod may not have taken hold in this direction yet"
		}
		return nil
	}
	a.Why = fmt.Sprintf("%s is too close to a limit to decide%s: relief is measured again, by the leaf between or another round, before anything after it",
		Words(p.now.spec, *rows[0]), more(len(rows)))
	return nil
}
