package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/inspect/unit"
)

// advise returns the steps of rework for the nonconforming characteristics and for what the steps before are predicted to
// take out of limits, in order. A rod that must not be turned makes
// the rod's step the repairer's. The first step rests on what was measured; a later one on what the steps before it are
// predicted to leave.
func (e *evaluation) advise(res *Result, failing map[string][]*Characteristic, rod rodState) ([]Advice, error) {
	if len(rod.stops) > 0 {
		failing[StepRepairer] = append(failing[StepRepairer], failing[StepRod]...)
		delete(failing, StepRod)
	}
	p := plan{now: e, then: e, ratio: rod.ratio}
	if rod.undoHelps() && len(rod.stops) == 0 {
		a := p.undo(rod)
		if s, ok := stepOf(StepRod); ok {
			a.Cautions = s.cautionsOf(e.spec.Neck.Rod, nil)
		}
		return []Advice{a}, nil
	}
	tune := e.judgesAtPitch(res) // relief and action wait for the pitch, whether it has limits or not
	advice := []Advice{}
	all := steps()
	if tune {
		slices.SortStableFunc(all, func(a, b step) int { return cmp.Compare(pitchFirst(a), pitchFirst(b)) })
	}
	for _, step := range all {
		rows := failing[step.name]
		caused := len(rows) == 0 && len(advice) > 0 && step.name != StepRod && step.name != StepMeasure
		if caused {
			rows = p.left(step.name, nil)
		}
		if len(rows) == 0 && !(step.name == StepPitch && tune) {
			continue
		}
		a := Advice{Order: len(advice) + 1, What: step.name, Waits: len(advice) > 0}
		if !a.Waits {
			p.first = step.name
		}
		if caused && len(rows) > 0 {
			a.Why = "The steps before it take out of limits: "
		}
		if err := p.advise(&step, &a, rows, rod); err != nil {
			return nil, err
		}
		a.Cautions = step.cautionsOf(e.spec.Neck.Rod, rod.stops)
		advice = append(advice, a)
	}
	return advice, nil
}

// pitchFirst orders the steps of a neck whose values wait for the pitch.
func pitchFirst(s step) int {
	if s.name == StepPitch {
		return 0
	}
	return 1
}

// advise fills in one step for the rows that call for it as measured, and follows it.
func (p *plan) advise(s *step, a *Advice, rows []*Characteristic, rod rodState) error {
	if s.name == StepMeasure {
		return p.measure(a, rows, rod)
	}
	if len(rows) > 0 {
		a.Why += p.now.causes(rows)
	} else {
		a.Why = p.now.pitchWords()
	}
	if a.Waits && len(rows) > 0 {
		left := p.left(a.What, rows)
		if len(left) == 0 {
			a.Why += p.mended(a, rows)
		}
		if p.assumed != "" {
			a.Why += ". " + p.assumed
		}
		if len(left) == 0 {
			return nil
		}
		rows = left
	}
	before := p.then
	p.next = nil
	err := s.advise(p, a, rows, rod)
	if err == nil && p.next != nil {
		a.Harm = worsened(before, p.next)
	}
	return err
}

// judgesAtPitch reports that a limited value could not be judged because the instrument is not at pitch.
func (e *evaluation) judgesAtPitch(res *Result) bool {
	for i := range res.Characteristics {
		if e.waitsForPitch(&res.Characteristics[i]) {
			return true
		}
	}
	return false
}

// mended says that the steps before a later one should be enough for what called for it.
func (p *plan) mended(a *Advice, rows []*Characteristic) string {
	who := "The steps before it"
	if a.Order == 2 {
		who = "The step before it, " + p.first + ","
	}
	them := "them"
	if len(rows) == 1 {
		them = "it"
	}
	values := p.then.values()
	for _, c := range rows {
		v, ok := values[c.key()]
		if !ok || c.Lower != nil && v < *c.Lower || c.Upper != nil && v > *c.Upper {
			return ". " + who + " may bring " + them + " inside: too close to tell before it is measured again"
		}
	}
	return ". " + who + " should bring " + them + " inside"
}

// worsened says what a step takes out of its limits that conformed before it, "" for nothing.
func worsened(before, after *evaluation) string {
	out := takenOut(before, after)
	if len(out) == 0 {
		return ""
	}
	return after.causes(out)
}

// takenOut returns what is out of its limits after a step and conformed before it.
func takenOut(before, after *evaluation) []*Characteristic {
	conformed := map[rowKey]bool{}
	for i := range before.rows {
		if c := &before.rows[i]; c.Zone == Conforming {
			conformed[c.key()] = true
		}
	}
	var out []*Characteristic
	for i := range after.rows {
		if c := &after.rows[i]; c.Zone == Nonconforming && conformed[c.key()] {
			out = append(out, c)
		}
	}
	return out
}

// harmful reports a predicted value outside its limits that a smaller step is looked for: a string on a fret, buzz, or more than its
// interval outside.
func (c *Characteristic) harmful() bool {
	outside, known := WorstMargin(*c)
	return c.belowCrown() || c.Name == LeastClearance || c.Name == ClearanceMargin || known && c.U != nil && -outside > 2**c.U
}

// causes names the row that is farthest out of its limits among those that call for a step, and how many more there are.
func (e *evaluation) causes(rows []*Characteristic) string {
	worst, least := rows[0], math.Inf(1)
	for _, c := range rows {
		if m, ok := WorstMargin(*c); ok && m < least {
			worst, least = c, m
		}
	}
	why := FailingWords(e.spec, *worst, unit.Millimetre)
	if worst.belowCrown() {
		why = Words(e.spec, *worst) + " would be below the crown"
	}
	if n := len(rows) - 1; n > 0 {
		why += fmt.Sprintf(", and %d more", n)
	}
	return why
}

// repair says what the repairer has to reach: the board's end dressed to the bend curve's tangent, the twist taken out,
// relief on its target where the rod cannot bring it there.
func (p *plan) repair(a *Advice, rows []*Characteristic, rod rodState) error {
	if len(rod.stops) > 0 {
		a.Why += ". " + strings.TrimSuffix(strings.Join(rod.stops, " "), ".")
		a.Defects = rod.defects
	}
	p.assumed = "Worked out for a neck as the repairer has to leave it"
	return p.do(a, false, func(n *neck, r *Readings, _ aside) {
		if len(rod.stops) > 0 && !math.IsNaN(rod.mean) {
			n.bow(r, rod.target-rod.mean, p.ratio[0])
		}
		for _, c := range rows {
			if repair := kindOf(c.Name).repair; repair != nil {
				repair(n, r, c)
			}
		}
	})
}

// pitch says by how much each string is to be tuned: those out of their limits, those that keep the instrument from
// being at pitch, and those without a reading.
func (p *plan) pitch(a *Advice, _ []*Characteristic, _ rodState) error {
	e := p.then
	a.Why += ". Tension bends the neck, so nothing else is judged before it is right"
	for i := range e.rows {
		c := &e.rows[i]
		if c.Name == Pitch && c.Value != nil && (c.Zone == Nonconforming || slices.Contains(e.off, c.String)) {
			by := targetOf(c, 0) - *c.Value
			a.Items = append(a.Items, AdviceItem{String: c.String, Cents: &by})
		}
	}
	if !e.spec.pitchDeclared() {
		for _, number := range e.unread {
			a.Items = append(a.Items, AdviceItem{String: number, Note: "no pitch reading: tune it and measure its pitch"})
		}
	}
	return p.do(a, false, func(n *neck, r *Readings, _ aside) {
		r.PitchDeclared = true // where the routine lets them
		for _, item := range a.Items {
			r.tune(n, item)
		}
	})
}

// tune changes a string's pitch as an item of advice says; one without a reading is brought to its pitch.
func (r *Readings) tune(n *neck, item AdviceItem) {
	v, _ := n.cents(item.String)
	if item.Cents != nil {
		v += *item.Cents
	}
	r.Pitch = slices.DeleteFunc(r.Pitch, func(p PitchReading) bool { return p.String == item.String })
	r.Pitch = append(r.Pitch, PitchReading{String: item.String, Cents: &v})
}

// rod says how far to turn the rod and what everything will then be. What follows is worked out from relief on its target,
// even where that takes more turns than one step may have: they come before it.
func (p *plan) rod(a *Advice, _ []*Characteristic, rod rodState) error {
	if words := p.now.astrayWords(&rod.history); words != "" {
		a.Why = words + "; if it goes the wrong way once more, the neck is the repairer's. " + a.Why
	}
	if math.Abs(rod.advice.Needed) > mostRun {
		a.Why = fmt.Sprintf("More than one turn is needed, about %.2f: the rod is likely to stop before that, and then it is the repairer's. ", math.Abs(rod.advice.Needed)) + a.Why
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
	return "Raise the saddle first: " + words
}

// nut says how much to take out of each slot, or that it must be filled.
func (p *plan) nut(a *Advice, rows []*Characteristic, _ rodState) error {
	by := make([]float64, len(rows)) // down
	for i, c := range rows {
		by[i] = *c.Value - targetOf(c, *c.Value)
		item := AdviceItem{String: c.String}
		if by[i] > 0 {
			item.AmountMM = &by[i]
		} else {
			item.Note = "too low: fill the slot or change the nut; nothing can be taken off"
		}
		a.Items = append(a.Items, item)
	}
	move := func(share float64) work {
		return func(n *neck, r *Readings, _ aside) {
			for i, c := range rows {
				n.moveNut(r, c.String, -share*by[i])
			}
		}
	}
	share, err := p.milder(a, rows, move)
	for i := range by {
		by[i] *= share
	}
	if err != nil {
		return err
	}
	return p.do(a, false, move(1))
}

// milder is the greatest share of a step's amounts, in quarters, that takes nothing out of its limits and still brings inside what
// called for the step; 1 where there is none. It says so where it is less than 1.
func (p *plan) milder(a *Advice, rows []*Characteristic, move func(share float64) work) (share float64, err error) {
	for share := 1.0; share > 0; share -= 0.25 {
		try := *p
		if err := try.follow(false, move(share)); err != nil {
			return 1, err
		}
		if slices.ContainsFunc(takenOut(p.then, try.then), (*Characteristic).harmful) || share < 1 && !try.then.conform(rows) {
			continue
		}
		if share < 1 {
			a.Why += ". Not all the way to the target: that would take out of limits what conforms"
		}
		return share, nil
	}
	return 1, nil
}

// conform reports that rows of another evaluation conform in this one.
func (e *evaluation) conform(rows []*Characteristic) bool {
	for i := range e.rows {
		c := &e.rows[i]
		if c.Zone != Conforming && slices.ContainsFunc(rows, func(o *Characteristic) bool { return o.key() == c.key() }) {
			return false
		}
	}
	return true
}

// action says how far each string's saddle must move.
func (p *plan) action(a *Advice, rows []*Characteristic, _ rodState) error {
	moved := map[int]bool{}
	for _, c := range rows {
		if moved[c.String] {
			continue
		}
		moved[c.String] = true
		by := p.then.saddleMove(c)
		a.Items = append(a.Items, AdviceItem{String: c.String, AmountMM: &by})
	}
	slices.SortStableFunc(a.Items, func(x, y AdviceItem) int { return x.String - y.String })
	move := func(share float64) work {
		return func(n *neck, r *Readings, _ aside) {
			for _, item := range a.Items {
				n.moveSaddle(r, item.String, share**item.AmountMM)
			}
		}
	}
	share, err := p.milder(a, rows, move)
	if err != nil {
		return err
	}
	for _, item := range a.Items {
		*item.AmountMM *= share
	}
	return p.do(a, false, move(1))
}

// saddleMove is how far the saddle must rise to bring an action to its target, or a clearance to its bound.
func (e *evaluation) saddleMove(c *Characteristic) float64 {
	l := e.spec.Neck.ScaleMM
	by := targetOf(c, *c.Value) - *c.Value
	held, over := c.HeldFret, c.Fret
	if c.Name != Action {
		if held, over = e.worstGap(c); over == 0 {
			return by
		}
	}
	x := e.heldAt(held) // the string turns about it
	return by * (l - x) / (e.x[over-1] - x)
}
