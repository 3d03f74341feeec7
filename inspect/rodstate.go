package inspect

import (
	"fmt"
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// rodState is where the truss rod stands when relief is out of limits.
type rodState struct {
	mean, u   float64 // of the relief that the advice rests on, NaN without values
	target    float64
	goal      string     // the target in words
	k, sd     float64    // this neck's effect
	ratio     [2]float64 // of what the rod does to action to what a uniform curvature would: mean and standard deviation
	history   rodHistory
	most      float64 // turns at this step
	advice    RodAdvice
	uneven    string   // said beside the step: how far the sides differ
	direction string   // "tighten", "loosen" or "" when the mean is on its target
	stops     []string // why the rod must not be turned at the bench
	defects   []string // what that shows, as remedies name it
}

// rodState works out the advice on the rod and whether it must not be turned.
func (e *evaluation) rodState(res *Result, failing []*Characteristic, model RodModel) rodState {
	st := rodState{mean: math.NaN()}
	if mean, u := MeanRelief(res); mean != nil {
		st.mean, st.u = *mean, u
	}
	st.target, st.goal = e.meanTarget(res, failing)
	st.history = e.rodHistory(model)
	prior, priorSD := model.NewNeck()
	st.k, st.sd = UpdateRod(prior, priorSD, st.history.taught)
	st.ratio[0], st.ratio[1] = model.ActionRatio()
	for i := range st.history.taught {
		st.ratio[0], st.ratio[1], _ = st.history.taught[i].actionTaught(e.spec, st.ratio[0], st.ratio[1])
	}
	if math.IsNaN(st.mean) {
		for _, c := range failing {
			switch miss(c) {
			case 1:
				st.direction = "tighten"
			case -1:
				st.direction = "loosen"
			}
		}
	} else {
		st.advice = AdviseRod(st.mean, st.u, st.target, st.k, st.sd)
		if st.advice.Turns == 0 {
			st.advice.Turns = e.leastTurn(res, st.k)
		}
		st.turn(st.advice.Turns)
		st.most = st.history.most(math.Copysign(1, st.advice.Turns))
		st.turn(max(-st.most, min(st.most, st.advice.Turns)))
	}
	e.findStops(&st, res)
	return st
}

// turn makes another turn the one advised.
func (st *rodState) turn(turns float64) {
	st.advice.Turns = turns
	st.advice.predict(st.mean, st.u, st.k, st.sd)
	switch {
	case turns > 0:
		st.direction = "tighten"
	case turns < 0:
		st.direction = "loosen"
	}
}

// rodHistory is what the neck's steps of the rod have shown.
func (e *evaluation) rodHistory(model RodModel) rodHistory {
	if e.spec.Neck.Rod == "none" {
		return rodHistory{}
	}
	mean, sd := model.NewNeck()
	return judgeRod(e.spec.Neck.Rod, mean, sd, e.rodSteps())
}

// rodSteps returns the rod's steps; a step that brings no uncertainty of its fall of relief has that of two reliefs of the
// specification's gauge.
func (e *evaluation) rodSteps() []RodStep {
	all := slices.Clone(e.readings.RodSteps)
	l := &e.fan.Centre
	t := (l.At(e.k) - l.At(e.a)) / (l.At(e.b) - l.At(e.a))
	u := math.Sqrt2 * e.u * math.Sqrt((1-t)*(1-t)+t*t+1)
	for i := range all {
		if all[i].UMM == nil && u > 0 {
			all[i].UMM = &u
		}
	}
	return all
}

// meanTarget is the mean target over the limited tracks, and the same in words: a limit's target, else the middle of its
// bounds, else what is usual for the kind of instrument (0.30 mm without one), kept within a single bound. Where only the largest relief or the sides are limited it is theirs and
// the default.
func (e *evaluation) meanTarget(res *Result, failing []*Characteristic) (mean float64, words string) {
	usual := e.spec.UsualReliefMM()
	var targets []float64
	for i := range res.Characteristics {
		if c := &res.Characteristics[i]; c.Name == Relief && c.Zone != NoLimit && c.Value != nil {
			targets = append(targets, targetOf(c, usual))
		}
	}
	if len(targets) == 0 {
		for _, c := range failing {
			if c.Name != SideDifference {
				targets = append(targets, targetOf(c, usual))
			}
		}
	}
	if len(targets) == 0 {
		targets = []float64{usual}
	}
	var sum float64
	for _, t := range targets {
		sum += t
	}
	mean = sum / float64(len(targets))
	if least, most := slices.Min(targets), slices.Max(targets); least != most {
		return mean, fmt.Sprintf("the mean of the tracks' targets, %s (%s to %s)", e.spec.length(mean), e.spec.length(least), e.spec.length(most))
	}
	return mean, "the target of " + e.spec.length(mean)
}

// targetOf is what a characteristic is worked towards: its target, else the middle of its bounds, else usual kept within
// the one bound there is.
func targetOf(c *Characteristic, usual float64) float64 {
	switch {
	case c.Target != nil:
		return *c.Target
	case c.Lower != nil && c.Upper != nil:
		return *c.Lower/2 + *c.Upper/2
	case c.Lower != nil:
		return max(usual, *c.Lower)
	case c.Upper != nil:
		return min(usual, *c.Upper)
	}
	return usual
}

// findStops lists why the rod must not be turned here, each as a sentence, and the defects behind it.
func (e *evaluation) findStops(st *rodState, res *Result) {
	stop := func(sentence string, defects ...string) {
		st.stops = append(st.stops, sentence)
		st.defects = append(st.defects, defects...)
	}
	if e.spec.Neck.Rod == "none" {
		stop(e.rodlessWords(st, e.oneRod(res) != ""), noRod.Defect)
		return
	}
	if e.spec.Neck.Rod == "single" && e.readings.RodSlack && (st.direction == "loosen" || st.mean < 0) {
		stop("The rod is already slack and pulls one way only: it cannot let more relief in.")
	}
	e.stopHistory(st, stop)
	if sentence := e.oneRod(res); sentence != "" {
		stop(sentence, unevenSides.Defect)
	} else {
		st.uneven = e.unevenWords(res)
	}
	if left := e.rodTurnsLeft(); left != nil && st.advice.Needed > *left {
		stop(fmt.Sprintf("The rod would need %.2f turns and has about %.2f left.", st.advice.Needed, max(*left, 0)))
	}
	for i := range res.Characteristics {
		if c := &res.Characteristics[i]; c.Name == Hump && c.Zone == Nonconforming {
			stop("There is a hump where the neck meets the body: the rod cannot take it out.")
			break
		}
	}
	for _, t := range e.tracks {
		if t.sShaped() {
			stop(fmt.Sprintf("The neck is bent into an S (%s): the rod straightens one end and bends the other.", Side(t.name)), sCurve.Defect)
			break
		}
	}
	if st.history.wrong == 1 && len(st.stops) > 0 { // said by its own stop when it happened twice, by the step without one
		if words := e.astrayWords(&st.history); words != "" {
			stop(words+".", reversedRod.Defect)
		}
	}
}

// rodTurnsLeft is the travel left to tighten: the specification's, less what this neck's rod was tightened and plus what
// it was loosened since then or since a repairer worked on it, alone or together with other work; nil when the specification does not say.
func (e *evaluation) rodTurnsLeft() *float64 {
	if e.spec.Neck.RodTurnsLeft == nil {
		return nil
	}
	left := *e.spec.Neck.RodTurnsLeft
	if turned := e.readings.RodTurned; turned != nil {
		left -= *turned
		return &left
	}
	for i := range e.readings.RodSteps {
		t, _, _ := e.readings.RodSteps[i].fall()
		if left -= t; e.readings.RodSteps[i].Repaired {
			left = *e.spec.Neck.RodTurnsLeft
		}
	}
	return &left
}

// sShaped reports that the bend curve's second derivatives at frets 3 and b-2 have opposite signs, each beyond twice its
// standard uncertainty.
func (t *track) sShaped() bool {
	if t.bend == nil || t.b-2 <= 3 {
		return false
	}
	at := func(fret int) (v, u float64) {
		x := t.x[fret-1] / t.fan.ScaleMM
		v = t.bend.Second(x)
		u, err := t.propagate(func(_ []float64, bend *fit.Bend) float64 { return bend.Second(x) })
		if err != nil {
			return 0, 0
		}
		return v, u
	}
	near, uNear := at(3)
	far, uFar := at(t.b - 2)
	return near*far < 0 && math.Abs(near) > 2*uNear && math.Abs(far) > 2*uFar
}
