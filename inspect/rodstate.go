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
	goal      string  // the target in words
	k, sd     float64 // this neck's effect
	advice    RodAdvice
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
	prior, priorSD := model.NewNeck()
	st.k, st.sd = UpdateRod(prior, priorSD, e.rodSteps())
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
		switch {
		case st.advice.Turns > 0:
			st.direction = "tighten"
		case st.advice.Turns < 0:
			st.direction = "loosen"
		}
	}
	e.findStops(&st, res, prior)
	return st
}

// rodSteps returns the rod's history; a step that brings no uncertainty of its fall of relief has that of two reliefs of the
// specification's gauge.
func (e *evaluation) rodSteps() []RodStep {
	all := slices.Clone(e.readings.RodSteps)
	t := (e.x[e.k-1] - e.x[e.a-1]) / (e.x[e.b-1] - e.x[e.a-1])
	u := math.Sqrt2 * e.u * math.Sqrt((1-t)*(1-t)+t*t+1)
	for i := range all {
		if all[i].UMM == nil && u > 0 {
			all[i].UMM = &u
		}
	}
	return all
}

// meanTarget is the mean target over the limited tracks, and the same in words: a limit's target, else the middle of its
// bounds, else 0.30 mm, kept within a single bound. Where only the largest relief or the sides are limited it is theirs and
// the default.
func (e *evaluation) meanTarget(res *Result, failing []*Characteristic) (mean float64, words string) {
	var targets []float64
	for i := range res.Characteristics {
		if c := &res.Characteristics[i]; c.Name == Relief && c.Zone != NoLimit && c.Value != nil {
			targets = append(targets, targetOf(c, DefaultReliefMM))
		}
	}
	if len(targets) == 0 {
		for _, c := range failing {
			if c.Name != SideDifference {
				targets = append(targets, targetOf(c, DefaultReliefMM))
			}
		}
	}
	if len(targets) == 0 {
		targets = []float64{DefaultReliefMM}
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
func (e *evaluation) findStops(st *rodState, res *Result, prior float64) {
	stop := func(sentence string, defects ...string) {
		st.stops = append(st.stops, sentence)
		st.defects = append(st.defects, defects...)
	}
	rod := e.spec.Neck.Rod
	switch {
	case rod == "none":
		stop("The neck has no truss rod: relief is set by the board, by heat or by the strings' tension.")
		return
	case rod == "single" && e.readings.RodSlack && (st.direction == "loosen" || st.mean < 0):
		stop("The rod is already slack and pulls one way only: it cannot let more relief in.")
	}
	if n := e.poorSteps(prior); n >= 2 {
		stop(fmt.Sprintf("%d steps of the rod moved relief by less than a third of what was expected: it may be stuck, at its end or crushing wood.", n),
			stuckRod.Defect, deadRod.Defect)
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
}

// poorSteps counts the past steps that moved relief by less than a third of what the model's effect predicted.
func (e *evaluation) poorSteps(k float64) int {
	n := 0
	for i := range e.readings.RodSteps {
		t, fall, _ := e.readings.RodSteps[i].fall()
		if predicted := t * k; predicted != 0 && fall/predicted < 1.0/3 {
			n++
		}
	}
	return n
}

// rodTurnsLeft is the travel left to tighten: the specification's, less what this neck's rod was tightened and plus what
// it was loosened since, alone or together with other work; nil when the specification does not say.
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
		left -= t
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
		x := t.x[fret-1] / t.spec.Neck.ScaleMM
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
