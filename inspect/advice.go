package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"

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
			a.Cautions = s.cautionsOf(&e.spec.Neck, nil)
		}
		return []Advice{a}, nil
	}
	tune := e.judgesAtPitch(res) // relief and action wait for the pitch, whether it has limits or not
	advice := []Advice{}
	all := steps()
	if e.spec.ownWork() {
		all = ownOrder(all, len(rod.stops) > 0)
	}
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
		a.Cautions = step.cautionsOf(&e.spec.Neck, rod.stops)
		if step.name == StepRepairer && e.spec.ownWork() {
			a.Cautions = []string{cautionOwnWork, cautionTension, CautionPerson}
		}
		advice = append(advice, a)
	}
	return advice, nil
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
