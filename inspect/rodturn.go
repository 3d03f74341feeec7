package inspect

import (
	"fmt"
	"math"
	"slices"
)

// rod says how far to turn the rod and what everything will then be. What follows is worked out from relief on its target,
// even where that takes more turns than one step may have: they come before it.
func (p *plan) rod(a *Advice, _ []*Characteristic, rod rodState) error {
	if words := p.now.astrayWords(&rod.history); words != "" {
		a.Why = words + "; if it goes the wrong way once more, " + p.now.spec.byWhom("the neck is the repairer's", "turn it no further") + ". " + a.Why
	}
	if math.Abs(rod.advice.Needed) > mostRun {
		a.Why = fmt.Sprintf("More than one turn is needed, about %.2f: the rod is likely to stop before that, and then %s. ", math.Abs(rod.advice.Needed), p.now.spec.byWhom("it is the repairer's", "force it no further")) + a.Why
	}
	a.Direction = rod.direction
	if math.IsNaN(rod.mean) {
		a.Why += ". The leaves give a direction but no amount: turn a sixteenth at a time and measure again"
		p.assumed = "Worked out without the rod, whose effect the leaves do not tell"
		return nil
	}
	turn := func(turns float64) work {
		return func(n *neck, r *Readings, side aside) {
			// Relief is measured after every step, so that no more than one step's effect is unknown at the end.
			spread := max(-mostTurns, min(mostTurns, turns)) * rod.sd
			n.bow(r, -(turns*rod.k + side.k*spread), p.ratio[0]+side.ratio*p.ratio[1])
		}
	}
	smaller, err := p.harmless(&rod, turn)
	if err != nil {
		return err
	}
	turns := math.Abs(rod.advice.Turns)
	a.Turns, a.PredictedReliefMM, a.IntervalMM = &turns, &rod.advice.PredictedMM, &rod.advice.IntervalMM
	more := math.Abs(rod.advice.Needed) > mostTurns
	switch {
	case turns == 0:
		a.Why += fmt.Sprintf(". No turn helps: a sixteenth moves the mean relief, %s, farther from %s than it is, and the rod moves both sides together and cannot even them out",
			p.now.spec.length(rod.mean), rod.goal)
	case rod.history.run.slack && rod.most < mostTurns:
		a.Why += fmt.Sprintf(". The double-acting rod has not taken hold in this direction yet: an eighth at most at a step towards %s, then tune and measure again", rod.goal)
	case more:
		limit := "a quarter"
		if rod.most <= slackStep {
			limit = "an eighth"
		}
		a.Why += fmt.Sprintf(". About %.2f turns are needed to reach %s: %s at most at a step, then tune and measure again",
			math.Abs(rod.advice.Needed), rod.goal, limit)
	default:
		a.Why += fmt.Sprintf(". A turn takes about %.2f mm; it is worked towards %s", rod.k, rod.goal)
	}
	for _, words := range []string{smaller, rod.uneven} {
		if words != "" {
			a.Why += ". " + words
		}
	}
	before := *p
	if err := p.do(a, true, turn(rod.advice.Turns)); err != nil || !more {
		return err
	}
	p.then, p.sides = before.then, before.sides
	p.assumed = "Worked out for a mean relief brought to about " + p.now.spec.length(rod.target) + " first"
	return p.follow(true, turn(inSixteenths(rod.advice.Needed)))
}

// harmless looks for a smaller turn where the one advised takes something out of its limits that conforms, and for another order
// where there is none: what is to be done first. It says what it found.
func (p *plan) harmless(rod *rodState, turn func(turns float64) work) (words string, err error) {
	whole := rod.advice.Turns
	var harmed []*Characteristic
	var after *evaluation
	for turns := math.Abs(whole); turns > 0; turns -= 1.0 / 16 {
		try := *p
		if err := try.follow(true, turn(math.Copysign(turns, whole))); err != nil {
			return "", err
		}
		rows := slices.DeleteFunc(takenOut(p.then, try.then), func(c *Characteristic) bool { return !c.harmful() })
		if len(rows) == 0 {
			if turns < math.Abs(whole) {
				rod.turn(math.Copysign(turns, whole))
				return fmt.Sprintf("%s would take out of limits what conforms (%s), so only %s", TurnsWords(math.Abs(whole)), after.causes(harmed), TurnsWords(turns)), nil
			}
			return "", nil
		}
		if harmed == nil {
			harmed, after = rows, try.then
		}
	}
	if harmed == nil {
		return "", nil
	}
	return after.raiseFirst(harmed), nil
}

// raiseFirst says of strings that a step takes below their limits that their saddles are raised first, "" where something else is
// taken out.
func (e *evaluation) raiseFirst(harmed []*Characteristic) string {
	words := ""
	done := map[int]bool{}
	for _, c := range harmed {
		if kindOf(c.Name).Step != StepAction || miss(c) >= 0 {
			return ""
		}
		if done[c.String] {
			continue
		}
		done[c.String] = true
		if words != "" {
			words += ", "
		}
		words += fmt.Sprintf("string %d by %s", c.String, e.spec.length(e.saddleMove(c)))
	}
	if words == "" {
		return ""
	}
	switch e.spec.Neck.BridgeKind() {
	case OneSaddle:
		return "A higher saddle first: under " + words
	case TwoPosts:
		return "Raise the bridge first: under " + words
	}
	return "Raise the saddle first: " + words
}
