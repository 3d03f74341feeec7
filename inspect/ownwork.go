package inspect

import (
	"slices"
	"strings"
)

// ownWork says that who measures does all work.
func (s *Spec) ownWork() bool { return s.Routine != nil && s.Routine.Repairs == Myself }

// byWhom is what is said where work is a repairer's, and where whoever measures does it.
func (s *Spec) byWhom(repairers, own string) string {
	if s.ownWork() {
		return own
	}
	return repairers
}

// quickFirst is the order of steps for whoever does all work: what is quick and can be undone before what takes wood or metal off. Common practice,
// no source.
var quickFirst = []string{StepPitch, StepMeasure, StepRod, StepAction, StepNut, StepLevel, StepRepairer}

// ownOrder puts steps in the order of quickFirst; where the rod cannot bring relief in, the work that does comes right after measuring, for all others
// rest on it.
func ownOrder(all []step, stopped bool) []step {
	place := func(s step) int {
		if stopped && s.name == StepRepairer {
			return slices.Index(quickFirst, StepRod)
		}
		return slices.Index(quickFirst, s.name)
	}
	slices.SortStableFunc(all, func(a, b step) int { return place(a) - place(b) })
	return all
}

// giveWork says what is done where others are sent to a repairer: what helps against each defect, mildest first.
func (s *Spec) giveWork(a *Advice, rows []*Characteristic) {
	var defects []Remedy
	add := func(r Remedy) {
		if r.Defect != "" && !slices.ContainsFunc(defects, func(o Remedy) bool { return o.Defect == r.Defect }) {
			defects = append(defects, r.fitted(s))
		}
	}
	for _, name := range a.Defects {
		for _, r := range AllRemedies() {
			if r.Defect == name {
				add(r)
			}
		}
	}
	for _, c := range rows {
		if r, ok := RemedyFor(*c); ok && !(kindOf(c.Name).Step == StepRod && len(defects) > 0) {
			add(r)
		}
	}
	if len(defects) == 0 {
		return
	}
	a.Do = defects[0].Defect + ": " + defects[0].Remedies[0]
	for i, r := range defects {
		rest := r.Remedies
		if i == 0 {
			rest = rest[1:]
		}
		if len(rest) > 0 {
			a.Why += ". Against " + r.Defect + ", mildest first: " + strings.Join(rest, "; then ")
		}
	}
}
