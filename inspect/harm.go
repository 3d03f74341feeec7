package inspect

import "slices"

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
