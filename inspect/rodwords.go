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
	case h.run.turns > mostRun, h.undo == nil && st.direction != "" && needs == h.run.dir && st.most == 0:
		stop("The rod has been turned "+turned+": no more than one turn, whatever it did", deadRod.Defect)
	}
}

// most is how many turns the next step may have in a direction, in sixteenths: a quarter, an eighth in a slack zone, and no more
// than is left of one turn in the run.
func (h *rodHistory) most(dir float64) float64 {
	most := mostTurns
	if h.run.slack && h.run.dir == dir {
		most = slackStep
	}
	return math.Floor(min(most, h.room(dir))*16) / 16
}

// undo is the step that takes back the last one, which went the wrong way. Nothing else is advised before it.
func (p *plan) undo(rod rodState) Advice {
	last := rod.history.undo
	length := p.now.spec.length
	back, should := "loosen", "fall"
	if last.Direction == "loosen" {
		back, should = "tighten", "rise"
	}
	turns := last.Turns
	_, _, u := last.fall()
	relief := last.ReliefBeforeMM
	half := 2 * math.Hypot(u, turns*rod.sd)
	a := Advice{Order: 1, What: StepRod, Direction: back, Turns: &turns, PredictedReliefMM: &relief, IntervalMM: &[2]float64{relief - half, relief + half}}
	a.Why = fmt.Sprintf("The rod went the wrong way: relief should %s and moved %s the other way. Undo the last step (%s %s), retune, measure again; "+
		"no further turn and no other work before that. Likely a reversed thread, the other end of a double-acting rod, or a neck still moving",
		should, length(rod.history.rose), last.Direction, TurnsWords(last.Turns))
	a.Defects = []string{reversedRod.Defect}
	return a
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
