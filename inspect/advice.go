package inspect

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// advise returns the steps of rework for the nonconforming characteristics, in order. A rod that must not be turned makes
// the rod's step the repairer's.
func (e *evaluation) advise(res *Result, failing map[string][]*Characteristic, rod rodState) ([]Advice, error) {
	if len(rod.stops) > 0 {
		failing[stepRepairer] = append(failing[stepRepairer], failing[stepRod]...)
		delete(failing, stepRod)
	}
	tune := e.judgesAtPitch(res) // relief and action wait for the pitch, whether it has limits or not
	advice := []Advice{}
	for _, step := range steps {
		rows := failing[step]
		if len(rows) == 0 && !(step == stepPitch && tune) {
			continue
		}
		a := Advice{Order: len(advice) + 1, What: step}
		if len(advice) > 0 {
			a.Waits = true
			a.Why = e.whyLater(&advice[0], rows)
			advice = append(advice, a)
			continue
		}
		var err error
		switch step {
		case stepRepairer:
			a.Why = e.causes(rows)
			if len(rod.stops) > 0 {
				a.Why += ". " + strings.Join(rod.stops, " ")
			}
		case stepPitch:
			e.advisePitch(&a, res, rows)
		case stepRod:
			e.adviseRod(&a, res, rows, rod)
		case stepLevel:
			err = e.adviseLevel(&a, res, rows)
		case stepNut:
			err = e.adviseNut(&a, res, rows)
		case stepAction:
			err = e.adviseAction(&a, res, rows)
		}
		if err != nil {
			return nil, err
		}
		a.Cautions = cautions(&a, rod.stops)
		advice = append(advice, a)
	}
	return advice, nil
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

// whyLater says what a later step is for, and that the first one should be enough where all of it is predicted to be inside
// its limits then.
func (e *evaluation) whyLater(first *Advice, rows []*Characteristic) string {
	if len(rows) == 0 {
		return e.pitchWords()
	}
	why := e.causes(rows)
	for _, c := range rows {
		if !first.bringsInside(c) {
			return why
		}
	}
	return why + ". The step before it, " + first.What + ", should bring " + map[bool]string{true: "it", false: "them"}[len(rows) == 1] + " inside"
}

// bringsInside reports that a step predicts a characteristic to be within its limits.
func (a *Advice) bringsInside(c *Characteristic) bool {
	for i := range a.Predicted {
		p := &a.Predicted[i]
		if p.Name == c.Name && p.Track == c.Track && p.String == c.String && p.Fret == c.Fret && c.HeldFret == 0 {
			return (c.Lower == nil || p.Value >= *c.Lower) && (c.Upper == nil || p.Value <= *c.Upper)
		}
	}
	return false
}

// causes names the row that is farthest out of its limits among those that call for a step, and how many more there are.
func (e *evaluation) causes(rows []*Characteristic) string {
	worst, least := rows[0], math.Inf(1)
	for _, c := range rows {
		if m, ok := WorstMargin(*c); ok && m < least {
			worst, least = c, m
		}
	}
	why := Words(e.spec, *worst) + " is " + against(worst)
	if n := len(rows) - 1; n > 0 {
		why += fmt.Sprintf(", and %d more", n)
	}
	return why
}

// advisePitch says by how much each string is to be tuned: those out of their limits, those that keep the instrument from
// being at pitch, and those without a reading.
func (e *evaluation) advisePitch(a *Advice, res *Result, rows []*Characteristic) {
	if len(rows) > 0 {
		a.Why = e.causes(rows)
	} else {
		a.Why = e.pitchWords()
	}
	a.Why += ". Tension bends the neck, so nothing else is judged before it is right"
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Name == pitch && c.Value != nil && (c.Zone == Nonconforming || slices.Contains(e.off, c.String)) {
			by := targetOf(c, 0) - *c.Value
			a.Items = append(a.Items, AdviceItem{String: c.String, Cents: &by})
		}
	}
	for _, number := range e.unread {
		a.Items = append(a.Items, AdviceItem{String: number, Note: "no pitch reading: tune it and measure its pitch"})
	}
}

// adviseRod says how far to turn the rod and what relief and action will then be.
func (e *evaluation) adviseRod(a *Advice, res *Result, rows []*Characteristic, rod rodState) {
	a.Why = e.causes(rows)
	a.Direction = rod.direction
	if math.IsNaN(rod.mean) {
		a.Why += ". The leaves give a direction but no amount: turn a sixteenth at a time and measure again"
		return
	}
	turns := math.Abs(rod.advice.Turns)
	a.Turns, a.PredictedReliefMM, a.IntervalMM = &turns, &rod.advice.PredictedMM, &rod.advice.IntervalMM
	switch {
	case turns == 0:
		a.Why += fmt.Sprintf(". The mean relief, %.3f mm, is on its target of %.3f mm: the rod moves both sides together and cannot even them out",
			rod.mean, rod.target)
	case math.Abs(rod.advice.Needed) > mostTurns:
		a.Why += fmt.Sprintf(". About %.2f turns are needed to reach %.3f mm: a quarter at most at a step, then tune and measure again",
			math.Abs(rod.advice.Needed), rod.target)
	default:
		a.Why += fmt.Sprintf(". A turn takes about %.2f mm; the target is %.3f mm", rod.k, rod.target)
	}
	e.predictRod(a, res, rod)
}

// predictRod predicts relief and action after the turn.
func (e *evaluation) predictRod(a *Advice, res *Result, rod rodState) {
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Value == nil || c.Zone == NoLimit {
			continue
		}
		share := 0.0
		switch c.Name {
		case relief:
			share = 1
		case action:
			share = ReliefToAction(e.spec.Neck.ScaleMM, e.a, e.b, e.k, c.Fret)
		default:
			continue
		}
		var u float64
		if c.U != nil {
			u = *c.U
		}
		v := *c.Value - share*rod.advice.Turns*rod.k
		half := 2 * math.Hypot(u, share*rod.advice.Turns*rod.sd)
		a.Predicted = append(a.Predicted, Predicted{Name: c.Name, Track: c.Track, String: c.String, Fret: c.Fret, Value: v, Unit: c.Unit,
			Interval: [2]float64{v - half, v + half}})
	}
}

// adviseNut says how much to take out of each slot, or that it must be filled.
func (e *evaluation) adviseNut(a *Advice, res *Result, rows []*Characteristic) error {
	a.Why = e.causes(rows)
	after := e.readings.clone()
	l := e.spec.Neck.ScaleMM
	for _, c := range rows {
		by := *c.Value - targetOf(c, *c.Value)
		item := AdviceItem{String: c.String}
		if by > 0 {
			item.AmountMM = &by
		} else {
			item.Note = "too low: fill the slot or change the nut; nothing can be taken off"
		}
		a.Items = append(a.Items, item)
		// The open string turns about the saddle.
		after.moveString(c.String, func(fret, held int) float64 {
			if held > 0 {
				return 0
			}
			return -by * (l - e.x[fret-1]) / (l - e.x[0])
		})
	}
	return e.predict(a, res, after)
}

// adviseAction says how far each string's saddle must move.
func (e *evaluation) adviseAction(a *Advice, res *Result, rows []*Characteristic) error {
	a.Why = e.causes(rows)
	after := e.readings.clone()
	l := e.spec.Neck.ScaleMM
	moved := map[int]bool{}
	for _, c := range rows {
		if moved[c.String] {
			continue
		}
		moved[c.String] = true
		by := e.saddleMove(c)
		a.Items = append(a.Items, AdviceItem{String: c.String, AmountMM: &by})
		// The string turns about the nut or the fret it is held at.
		after.moveString(c.String, func(fret, held int) float64 {
			var x float64
			if held > 0 {
				x = e.x[held-1]
			}
			return by * (e.x[fret-1] - x) / (l - x)
		})
	}
	return e.predict(a, res, after)
}

// moveString changes the heights of one string by what dh gives for the fret and the held fret.
func (r *Readings) moveString(number int, dh func(fret, held int) float64) {
	for i := range r.Action {
		if h := &r.Action[i]; h.String == number {
			h.HeightMM += dh(h.Fret, h.HeldFret)
		}
	}
	for i := range r.NutHeight {
		if h := &r.NutHeight[i]; h.String == number {
			h.HeightMM += dh(1, 0)
		}
	}
}

// predict adds what the limited characteristics that a step changes will be, computed from readings as they should be
// after it, as uncertain as they are now.
func (e *evaluation) predict(a *Advice, res *Result, after *Readings) error {
	n, err := newNeck(e.spec, after, true)
	if err != nil {
		return err
	}
	then := evaluation{neck: n}
	if err := then.compute(); err != nil {
		return err
	}
	values := make(map[rowKey]float64, len(then.rows))
	for i := range then.rows {
		if c := &then.rows[i]; c.Value != nil {
			values[c.key()] = *c.Value
		}
	}
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		v, ok := values[c.key()]
		if c.Zone == NoLimit || c.Value == nil || !ok || math.Abs(v-*c.Value) < 1e-9 {
			continue
		}
		var u float64
		if c.U != nil {
			u = *c.U
		}
		a.Predicted = append(a.Predicted, Predicted{Name: c.Name, Track: c.Track, String: c.String, Fret: c.Fret, Value: v, Unit: c.Unit,
			Interval: [2]float64{v - 2*u, v + 2*u}})
	}
	return nil
}

// saddleMove is how far the saddle must rise to bring an action to its target, or a clearance to its bound.
func (e *evaluation) saddleMove(c *Characteristic) float64 {
	l := e.spec.Neck.ScaleMM
	by := targetOf(c, *c.Value) - *c.Value
	if c.Name == action {
		// Held at fret n the string turns about that fret, open about the nut.
		var held float64
		if c.HeldFret > 0 {
			held = e.x[c.HeldFret-1]
		}
		return by * (l - held) / (e.x[c.Fret-1] - held)
	}
	held, touched := e.worstGap(c)
	if touched == 0 {
		return by
	}
	var x float64
	if held > 0 {
		x = e.x[held-1]
	}
	return by * (l - x) / (e.x[touched-1] - x)
}

// worstGap finds where a string's least clearance or margin lies.
func (e *evaluation) worstGap(c *Characteristic) (held, touched int) {
	least := math.Inf(1)
	for i := range e.clearances {
		g := &e.clearances[i]
		v, at := g.LeastMM, g.AtFret
		if c.Name == margin {
			v, at = g.MarginMM, g.MarginAtFret
		}
		if g.String == c.String && v != nil && *v < least {
			least, held, touched = *v, g.HeldFret, at
		}
	}
	return held, touched
}
