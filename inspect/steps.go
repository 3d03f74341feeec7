package inspect

import "slices"

// Steps of rework.
const (
	StepRepairer = "repairer"
	StepPitch    = "pitch"
	StepMeasure  = "measure again"
	StepRod      = "truss rod"
	StepLevel    = "fret level"
	StepNut      = "nut slots"
	StepAction   = "action"
)

// step is everything that is true of one step of rework.
type step struct {
	name     string
	verb     string   // what is done in it
	cautions []string // shown with it
	advise   func(p *plan, a *Advice, rows []*Characteristic, rod rodState) error
}

// steps returns the steps in their order: what hinders a later step comes first.
func steps() []step {
	return []step{
		{StepRepairer, "hand the neck to a repairer", []string{cautionRepairer, cautionTension}, (*plan).repair},
		{StepPitch, "tune the strings", []string{cautionTension}, (*plan).pitch},
		{StepMeasure, "measure again", nil, (*plan).measure},
		{StepRod, "turn the truss rod", []string{cautionForce, cautionQuarter, cautionPitch, cautionTension}, (*plan).rod},
		{StepLevel, "level the frets", []string{cautionMetal, cautionEnds, cautionDust, cautionTension}, (*plan).level},
		{StepNut, "see to the nut slots", []string{cautionSlot, cautionTension, cautionDust}, (*plan).nut},
		{StepAction, "set the action", []string{cautionSaddle, cautionTension}, (*plan).action},
	}
}

// Steps returns the names of the steps of rework in their order: what hinders a later step comes first. Measuring again is advised
// among them and is no work.
func Steps() []string {
	var names []string
	for _, s := range steps() {
		if s.name != StepMeasure {
			names = append(names, s.name)
		}
	}
	return names
}

// stepOf returns a step by its name; ok is false for an unknown one.
func stepOf(name string) (s step, ok bool) {
	all := steps()
	i := slices.IndexFunc(all, func(s step) bool { return s.name == name })
	if i < 0 {
		return step{}, false
	}
	return all[i], true
}

// stepPlace is a characteristic's place in the order of rework; what has none comes last.
func stepPlace(c *Characteristic) int {
	all := steps()
	if i := slices.IndexFunc(all, func(s step) bool { return s.name == kindOf(c.Name).Step }); i >= 0 {
		return i
	}
	return len(all)
}

// CautionsOf returns the cautions of a step of rework on necks of every bridge, and who decides; for what is no step that alone.
func CautionsOf(step string) []string {
	var all []string
	s, _ := stepOf(step)
	for _, bridge := range []string{"", OneSaddle, FloatingBridge} {
		for _, c := range s.cautionsOf(&NeckSpec{Bridge: bridge}, nil) {
			if c != CautionPerson && !slices.Contains(all, c) {
				all = append(all, c)
			}
		}
	}
	return append(all, CautionPerson)
}

// cautionsOf returns the cautions of one step on a neck of the specification's kind; stops are why the rod must not be turned.
func (s *step) cautionsOf(n *NeckSpec, stops []string) []string {
	list := slices.Clone(s.cautions)
	switch bridge := n.BridgeKind(); {
	case s.name == StepAction && bridge == OneSaddle:
		list[0] = cautionOneSaddle
	case bridge == FloatingBridge && slices.Contains(list, cautionTension) && s.name != StepPitch:
		list = append(list, cautionFloating)
	}
	if s.name == StepNut && n.ZeroFret {
		list[0] = cautionMetal
	}
	if s.name == StepRepairer {
		switch {
		case n.Rod == "none":
			list[0] = cautionRepairerAlone
		case len(stops) > 0:
			list = append(list, cautionForce)
		}
	}
	return append(list, CautionPerson)
}
