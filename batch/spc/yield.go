package spc

import (
	"fmt"
	"math"

	"sagitta/batch/study"
)

// Step is one step of a process: units that entered it and units that passed it at the first time, rework not counted.
type Step struct{ Units, Passed int }

// Yields are the yields of steps that follow one another, shares from 0 to 1; nil where undefined.
type Yields struct {
	FirstPass      []*float64 // of each step: passed/units; nil where no unit entered
	Rolled         *float64   // rolled throughput yield: their product, the share that passes every step without rework
	DefectsPerUnit *float64   // -ln of the rolled yield; nil where that is 0
	Normalized     *float64   // the k-th root of the rolled yield of k steps: the average step
}

// RolledYield multiplies the first-pass yields of steps. Definitions of the Six Sigma literature (from memory: M. J. Harry and
// R. Schroeder, Six Sigma, 2000). Errors: no steps, a count below 0, more passed than entered.
func RolledYield(steps []Step) (Yields, error) {
	if len(steps) == 0 {
		return Yields{}, tooFew(0, "step", "at least 1")
	}
	y := Yields{FirstPass: make([]*float64, len(steps))}
	rolled := 1.0
	for i, s := range steps {
		if s.Units < 0 || s.Passed < 0 || s.Passed > s.Units {
			return Yields{}, fmt.Errorf("step %d: found %d passed of %d units; allowed: 0 or more, no more passed than units", i+1, s.Passed, s.Units)
		}
		share := float64(s.Passed) / float64(s.Units) // 0/0 is not defined, and makes the product so
		y.FirstPass[i] = study.Defined(share)
		rolled *= share
	}
	y.Rolled = study.Defined(rolled)
	y.DefectsPerUnit = study.Defined(math.Abs(math.Log(rolled))) // at most 1: the logarithm is not above 0
	y.Normalized = study.Defined(math.Pow(rolled, 1/float64(len(steps))))
	return y, nil
}

// PerMillion is how many of a million opportunities are defects: found on units with so many opportunities each; nil without
// opportunities or with a negative count.
func PerMillion(defects, units, opportunities int) *float64 {
	if defects < 0 || units <= 0 || opportunities <= 0 {
		return nil
	}
	return study.Defined(1e6 * float64(defects) / (float64(units) * float64(opportunities)))
}
