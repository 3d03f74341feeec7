package life

import (
	"math"
	"slices"
)

// What the slope with humidity is told from at the least, and when it is too slight to matter.
const (
	LeastVisits   = 4     // at which relief and humidity were measured
	LeastSpan     = 10.0  // % RH between the driest and the dampest of them with no work between
	SlightPer10   = 0.02  // mm for each 10 % RH: over a year's 20 % less than the step between two feeler leaves; practice
	leastU        = 0.001 // mm, of a measurement: none is better
	newestVisits  = 60    // that are looked at: a neck changes
	MostMoreVisit = 30    // visits that are asked for; beyond that nobody knows
)

// Knowledge is what is known of a neck's slope with humidity.
type Knowledge string

// What may be known.
const (
	FewVisits  Knowledge = "few visits"  // fewer than LeastVisits tell of it
	AlikeAir   Knowledge = "alike air"   // the air of those was within LeastSpan
	CannotTell Knowledge = "cannot tell" // the interval holds zero
	Slight     Knowledge = "slight"      // the interval holds zero and nothing beyond SlightPer10 either way
	Rises      Knowledge = "rises"       // relief grows as the air gets damper
	Falls      Knowledge = "falls"
)

// Humidity is what a neck's relief does with the air's humidity. Slope to Spread are there from CannotTell on.
type Humidity struct {
	Is              Knowledge
	Of              Kind // of relief that was compared
	Visits          int  // that tell of it
	Levels          int  // that work has left between them
	Driest, Dampest float64
	Span            float64 // % RH, the widest on one level
	Slope           float64 // mm per % RH
	Low, High       float64 // its interval of 95 %
	DF              int     // degrees of freedom
	Spread          float64 // mm, standard deviation from visit to visit about the line
	More            int     // visits, in air as varied, until it can be told; beyond MostMoreVisit: nobody knows

	line *line
	u    float64 // mm, of a measurement
}

// Known says that the slope has a sign.
func (h *Humidity) Known() bool { return h.Is == Rises || h.Is == Falls }

// HumidityOf tells what a neck's relief does with humidity.
func (n *Neck) HumidityOf() Humidity {
	samples, of := n.samples()
	h := Humidity{Of: of}
	h.look(samples)
	if h.Visits < LeastVisits {
		h.Is, h.More = FewVisits, LeastVisits-h.Visits
		return h
	}
	if h.Span < LeastSpan {
		h.Is = AlikeAir
		return h
	}
	l, ok := fitLine(samples)
	if !ok {
		h.Is, h.More = FewVisits, 1
		return h
	}
	h.line, h.DF, h.Spread = &l, l.df, l.spread
	for _, s := range samples {
		h.u += s.u / float64(len(samples))
	}
	h.judge()
	return h
}

// look counts visits, levels and humidities that tell of the slope: those of levels with two visits at least.
func (h *Humidity) look(samples []sample) {
	visits, levels := map[int]bool{}, map[int]bool{}
	for i, s := range samples {
		low, high, alone := s.humidity, s.humidity, true
		for j, o := range samples {
			if o.level == s.level {
				low, high, alone = min(low, o.humidity), max(high, o.humidity), alone && i == j
			}
		}
		if alone {
			continue
		}
		if len(visits) == 0 {
			h.Driest, h.Dampest = low, high
		}
		visits[s.visit], levels[s.level] = true, true
		h.Driest, h.Dampest, h.Span = min(h.Driest, low), max(h.Dampest, high), max(h.Span, high-low)
	}
	h.Visits, h.Levels = len(visits), len(levels)
}

// judge says what the interval of the slope tells.
func (h *Humidity) judge() {
	slope, u := h.line.slope()
	reach := covers(h.DF) * u
	h.Slope, h.Low, h.High = slope, slope-reach, slope+reach
	switch {
	case h.Low > 0:
		h.Is = Rises
	case h.High < 0:
		h.Is = Falls
	case max(-h.Low, h.High) <= SlightPer10/10:
		h.Is = Slight
	default:
		h.Is = CannotTell
		h.More = h.moreVisits(slope, u)
	}
}

// moreVisits is after how many more visits the interval would be narrow enough to tell a slope as great as the one found, or
// SlightPer10 where that is greater, if air and spread stay as they are: information grows with the visits.
func (h *Humidity) moreVisits(slope, u float64) int {
	enough := max(math.Abs(slope), SlightPer10/10)
	for more := 1; more <= MostMoreVisit; more++ {
		if covers(h.DF+more)*u*math.Sqrt(float64(h.Visits)/float64(h.Visits+more)) < enough {
			return more
		}
	}
	return MostMoreVisit + 1
}

// samples are the reliefs at known humidities that can be compared, the last of each visit and level, and of what kind they are. Levels
// with one of them tell nothing, but for the newest: there the neck is now.
func (n *Neck) samples() ([]sample, Kind) {
	of := n.kind()
	var all []sample
	level := 0
	for i, m := range n.Measured {
		if i > 0 && n.changedBetween(i-1, i) {
			level++
		}
		mm, u, ok := m.mean(of)
		if !ok || m.HumidityPercent == nil {
			continue
		}
		s := sample{visit: m.Visit, level: level, humidity: *m.HumidityPercent, mm: mm, u: max(u, leastU)}
		if k := len(all) - 1; k >= 0 && all[k].visit == s.visit && all[k].level == s.level {
			all[k] = s
			continue
		}
		all = append(all, s)
	}
	all = newest(all)
	count, last := map[int]int{}, level
	for _, s := range all {
		count[s.level]++
	}
	all = slices.DeleteFunc(all, func(s sample) bool { return count[s.level] == 1 && s.level != last })
	number := map[int]int{}
	for i, s := range all { // the levels that are left, numbered anew
		if _, known := number[s.level]; !known {
			number[s.level] = len(number)
		}
		all[i].level = number[s.level]
	}
	return all, of
}

// newest leaves the samples of the newest visits.
func newest(all []sample) []sample {
	visits := map[int]bool{}
	for i := len(all) - 1; i >= 0; i-- {
		visits[all[i].visit] = true
		if len(visits) > newestVisits {
			return all[i+1:]
		}
	}
	return all
}
