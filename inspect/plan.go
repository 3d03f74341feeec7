package inspect

import (
	"math"
	"slices"
	"strings"
)

// plan follows a neck through the steps of rework: what its readings should be after each, and how sure that is.
type plan struct {
	now  *evaluation // as measured
	then *evaluation // as it should be after the steps so far, judged; a later step is worked out from it
	next *evaluation // as it should be right after the step in hand, nil where that cannot be told
	// sides are the readings then, had the rod or its ratio been otherwise as asides says; nil before it is turned.
	sides   [len(asides)]*Readings
	ratio   [2]float64 // of what the rod does to action to what a uniform curvature would: mean and standard deviation
	first   string     // the first step
	assumed string     // what is taken for granted besides the steps listed, "" for nothing
}

// aside says by how many standard deviations the rod's effect on relief, and its ratio for action, are otherwise than expected.
type aside struct{ k, ratio float64 }

// asides are the cases that a prediction's interval is worked out from.
var asides = [4]aside{{k: -1}, {k: 1}, {ratio: -1}, {ratio: 1}}

// work does to readings what a step does to the neck, with the rod's effect as side says.
type work func(n *neck, r *Readings, side aside)

// do follows a step and writes what it is predicted to change into its advice. turns tells that the rod's effect, which is
// known with an uncertainty only, comes in.
func (p *plan) do(a *Advice, turns bool, w work) error {
	before := p.then
	if err := p.follow(turns, w); err != nil {
		return err
	}
	p.next = p.then
	a.Predicted = predictions(before, p.next)
	if len(a.Predicted) > 0 && a.PredictedReliefMM == nil {
		a.Predicted[0].Front = true
	}
	if numbers := p.next.onFrets(); len(numbers) > 0 {
		words := stringsWords(numbers)
		a.Why += ". " + strings.ToUpper(words[:1]) + words[1:] + " would then lie on the frets"
	}
	return nil
}

// follow goes on to the neck as a step leaves it. Its uncertainties are those of the values as they are now and, at right
// angles, half the differences that the rod's effect and its ratio make.
func (p *plan) follow(turns bool, w work) error {
	n := p.then.neck
	then := p.then.readings.clone()
	w(n, then, aside{})
	var values [len(asides)]map[rowKey]float64
	if turns || p.sides[0] != nil {
		for i, side := range asides {
			r := p.sides[i]
			if r == nil {
				r = p.then.readings
			}
			r = r.clone()
			w(n, r, side)
			e, err := p.simulate(r)
			if err != nil {
				return err
			}
			p.sides[i], values[i] = r, e.values()
		}
	}
	e, err := p.simulate(then)
	if err != nil {
		return err
	}
	p.then = e
	return p.judge(e, values)
}

// simulate computes what readings give.
func (p *plan) simulate(r *Readings) (*evaluation, error) {
	n, err := newNeck(p.now.spec, r, true)
	if err != nil {
		return nil, err
	}
	e := &evaluation{neck: n, limits: p.now.limits}
	if err := e.compute(); err != nil {
		return nil, err
	}
	e.sort()
	return e, nil
}

// judge judges a simulated neck; sides hold the values as asides has them, nil without a turn.
func (p *plan) judge(e *evaluation, sides [len(asides)]map[rowKey]float64) error {
	known := make(map[rowKey]float64, len(p.now.rows))
	for i := range p.now.rows {
		if c := &p.now.rows[i]; c.U != nil {
			known[c.key()] = *c.U
		}
	}
	for i := range e.rows {
		c := &e.rows[i]
		k := c.key()
		if c.Value != nil {
			c.U = e.numbers.keep(math.Hypot(known[k], math.Hypot((sides[1][k]-sides[0][k])/2, (sides[3][k]-sides[2][k])/2)))
		}
	}
	return e.judge()
}

// values returns the values by what they are about.
func (e *evaluation) values() map[rowKey]float64 {
	values := make(map[rowKey]float64, len(e.rows))
	for i := range e.rows {
		if c := &e.rows[i]; c.Value != nil {
			values[c.key()] = *c.Value
		}
	}
	return values
}

// failing returns the nonconforming rows that call for a step.
func (e *evaluation) failing(step string) []*Characteristic {
	var rows []*Characteristic
	for i := range e.rows {
		if c := &e.rows[i]; c.Zone == Nonconforming && kindOf(c.Name).Step == step {
			rows = append(rows, c)
		}
	}
	return rows
}

// left returns the rows that a later step has still to work at: those that call for it as measured and are predicted to be
// out of limits still, and others that the steps before it take out by more than their interval.
func (p *plan) left(step string, rows []*Characteristic) []*Characteristic {
	return slices.DeleteFunc(p.then.failing(step), func(c *Characteristic) bool {
		if slices.ContainsFunc(rows, func(o *Characteristic) bool { return o.key() == c.key() }) {
			return false
		}
		if p.now.waiting(c.key()) { // not taken out by the steps before it, only not judged as measured
			return true
		}
		outside, known := WorstMargin(*c)
		return !known || c.U == nil || -outside <= 2**c.U
	})
}

// waiting reports a row that waits for the pitch.
func (e *evaluation) waiting(k rowKey) bool {
	i := slices.IndexFunc(e.rows, func(c Characteristic) bool { return c.key() == k })
	return i >= 0 && e.waitsForPitch(&e.rows[i])
}

// onFrets names the strings with a height below 0: they cannot go there, they lie on the frets.
func (e *evaluation) onFrets() []int {
	var numbers []int
	for i := range e.rows {
		if c := &e.rows[i]; c.belowCrown() && !slices.Contains(numbers, c.String) {
			numbers = append(numbers, c.String)
		}
	}
	slices.Sort(numbers)
	return numbers
}

// belowCrown reports a string's height below 0, where no string can be.
func (c *Characteristic) belowCrown() bool {
	return (c.Name == Action || c.Name == NutHeight) && c.Value != nil && *c.Value < 0
}

// predictions lists the limited values that change from one state of a neck to the next: those out of their limits first.
// A height below 0 cannot be reached and is left out, and so is one before the step.
func predictions(before, after *evaluation) []Predicted {
	was := make(map[rowKey]*Characteristic, len(before.rows))
	for i := range before.rows {
		was[before.rows[i].key()] = &before.rows[i]
	}
	var all, others []Predicted
	for i := range after.rows {
		c := &after.rows[i]
		b := was[c.key()]
		if c.Zone == NoLimit || c.Value == nil || c.belowCrown() || b == nil || b.Value == nil || math.Abs(*c.Value-*b.Value) < 1e-9 {
			continue
		}
		u := 2 * *c.U
		p := Predicted{
			Name: c.Name, Track: c.Track, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret, Before: b.Value, Value: *c.Value, Unit: c.Unit,
			Interval: [2]float64{*c.Value - u, *c.Value + u}, Lower: c.Lower, Upper: c.Upper, Zone: c.Zone, ZoneBefore: b.Zone,
		}
		if b.belowCrown() {
			p.Before = nil
		}
		if b.Zone == Nonconforming {
			all = append(all, p)
		} else {
			others = append(others, p)
		}
	}
	return slices.Concat(all, others)
}
