package batch

import (
	"cmp"
	"math"
	"slices"

	"sagitta/inspect"
)

// deviation is what the gauge read too high at a height, its new zero taken off, mm: linear between the zero and the masters, and
// beyond them along the nearest stretch. Ok is false farther beyond than the masters reach apart: nothing is known there.
func (f *Found) deviation(mm float64) (d float64, ok bool) {
	if !slices.ContainsFunc(f.Masters, func(m MasterReading) bool { return math.Abs(m.ErrorMM()) > 1e-9 }) {
		return 0, true
	}
	type point struct{ read, deviation float64 }
	points := []point{{}}
	for _, m := range f.Masters {
		points = append(points, point{m.ReadMM, m.ErrorMM()})
	}
	slices.SortFunc(points, func(a, b point) int { return cmp.Compare(a.read, b.read) })
	points = slices.CompactFunc(points, func(a, b point) bool { return a.read == b.read })
	n := len(points)
	if n < 2 {
		return 0, false
	}
	reach := points[n-1].read - points[0].read
	if mm < points[0].read-reach || mm > points[n-1].read+reach {
		return 0, false
	}
	i := 1
	for i < n-1 && mm > points[i].read {
		i++
	}
	a, b := points[i-1], points[i]
	return a.deviation + (b.deviation-a.deviation)*(mm-a.read)/(b.read-a.read), true
}

// without is a reading of mm with a share of the error taken off, 1 for all of it; ok as for deviation.
func (f *Found) without(mm, share float64) (trueMM float64, ok bool) {
	z := mm - share*f.ShiftMM
	d, ok := f.deviation(z)
	return z - share*d, ok
}

// size is the largest part of the error, mm.
func (f *Found) size() float64 {
	size := math.Abs(f.ShiftMM)
	for _, m := range f.Masters {
		size = max(size, math.Abs(m.ErrorMM()))
	}
	return size
}

// ImpactOutcome is what a gauge's error means for the judgement of an inspection.
type ImpactOutcome string

// What it means. WouldFail: with the error taken off, something limited does not conform, at whatever moment up to its last reading in
// doubt the error came, and also if it grew little by little; had it come after that reading, the neck stands as judged. CannotBeTold: it
// depends on the moment, a value would be undecided or missing, or the error itself is not known (Impact.Unknown).
// StillConforms: everything limited conforms whatever the moment.
const (
	WouldFail     ImpactOutcome = "would fail"
	CannotBeTold  ImpactOutcome = "cannot be told"
	StillConforms ImpactOutcome = "still conforms"
)

// ImpactOutcomes are all of them, the one to be looked at first in front.
var ImpactOutcomes = []ImpactOutcome{WouldFail, CannotBeTold, StillConforms}

// ImpactUnknown says why nothing could be tried.
type ImpactUnknown string

// Why not.
const (
	UnknownError  ImpactUnknown = "error"  // what the gauge's error was is not on record
	UnknownLength ImpactUnknown = "length" // readings in doubt are no lengths: a shift in mm says nothing of them
	UnknownReach  ImpactUnknown = "reach"  // a reading in doubt lies too far from the zero and the masters
	UnknownValues ImpactUnknown = "values" // nothing can be computed with the error taken off
	// UnknownReadings: the inspection was taken in without readings.
	UnknownReadings ImpactUnknown = "readings"
	UnknownCarried  ImpactUnknown = "carried" // the values that rest on its readings were carried over into a later attempt
	UnknownOther    ImpactUnknown = "other"   // another doubt stands over values that rest on this one's readings too
)

// Impact is what a gauge's error means for one inspection: what it would have been judged with the error taken off its readings in doubt.
type Impact struct {
	Outcome ImpactOutcome
	Unknown ImpactUnknown // "" where the error was tried
	Moments int           // tried: each leaves another part of the readings with the error
	Fail    int           // of them, at which something limited does not conform
	Conform int           // of them, at which everything does
	Ruled   int           // moments left out: the crowns measured once more at the profile's end agree, and would not have
	Drift   bool          // an error that grew little by little was tried too; it is one of Moments
	Moved   []MovedValue  // limited values that the moment changes: those that fail at most moments first, then what failed as judged, then those nearest their limits
}

// MovedValue is a limited value as it was judged, and what it would have been.
type MovedValue struct {
	inspect.Characteristic         // as judged, the error in it
	Low, High              float64 // over all moments tried, that after the last reading, which leaves it as judged, left out
	Fail                   int     // moments at which it does not conform
	Open                   int     // at which it is undecided or not measured
}

// margin is how far the value's worst end lies inside its limits, as a share of the tolerance.
func (m *MovedValue) margin() float64 {
	worst := math.Inf(1)
	for _, end := range []*float64{&m.Low, &m.High} {
		c := m.Characteristic
		c.Value, c.IntervalMM = end, nil
		worst = min(worst, inspect.RelativeMargin(c))
	}
	return worst
}

// Worst is the end of the range that lies nearer to its limit, or farther beyond.
func (m *MovedValue) Worst() float64 {
	c := m.Characteristic
	c.Value, c.IntervalMM = &m.Low, nil
	low := inspect.RelativeMargin(c)
	if c.Value = &m.High; inspect.RelativeMargin(c) < low {
		return m.High
	}
	return m.Low
}
