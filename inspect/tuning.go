package inspect

import "slices"

// pitchFirst orders the steps of a neck whose values wait for the pitch.
func pitchFirst(s step) int {
	if s.name == StepPitch {
		return 0
	}
	return 1
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
