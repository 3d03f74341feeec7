package inspect

import "slices"

// GuardedAcceptance is the decision rule that takes as conforming only what is proved to be.
const GuardedAcceptance = "guarded_acceptance"

// Defaults of a specification.
const (
	DefaultGuardFactor   = 1.645 // one-sided 95 % of the Normal distribution
	DefaultReliefFret    = 7     // common practice, no source
	DefaultActionFret    = 12    // common practice, no source
	DefaultPitchCents    = 5.0   // the pitch gate without a limit; common practice, no source
	DefaultReliefMM      = 0.30  // the target without limits; common practice, no source
	simpleRule           = "simple"
	guardedRejection     = "guarded_rejection"
	bass, centre, treble = "bass", "centre", "treble"
)

// WithDefaults returns a copy with everything filled in that the file may leave out: the datum (fret 1, the joint, fret
// 7), the rule and its guard factor, a routine (both outer tracks at each fret, action at fret 12 of each string,
// pitch measured, playing position, a closing reading), and what raises alarms. What is given stays.
func (s *Spec) WithDefaults() *Spec {
	c := *s
	c.fillDatum()
	routine := Routine{}
	if s.Routine != nil {
		routine = *s.Routine
	}
	if routine.Profile == "" {
		routine.Profile = "each fret"
	}
	if routine.Tracks == nil && routine.Profile != "none" {
		routine.Tracks = []string{bass, treble}
	}
	if routine.ActionFrets == nil {
		routine.ActionFrets = []int{DefaultActionFret}
	}
	if routine.Strings.IsZero() {
		routine.Strings.Each = true
	}
	if routine.Pitch == "" {
		routine.Pitch = "measured"
	}
	if routine.Posture == "" {
		routine.Posture = "playing"
	}
	if routine.Closing == nil {
		routine.Closing = new(true)
	}
	c.Routine = &routine
	c.fillAlarms()
	return &c
}

// fillDatum fills in what a verdict needs: the datum and the decision rule.
func (s *Spec) fillDatum() {
	d := &s.Datum
	if d.FirstFret == 0 {
		d.FirstFret = 1
	}
	if d.SecondFret == 0 {
		d.SecondFret = s.Neck.JointFret
	}
	if d.ReliefFret == 0 {
		d.ReliefFret = DefaultReliefFret
	}
	if s.Decision.Rule == "" {
		s.Decision.Rule = simpleRule
	}
	guard := s.Decision.Guard()
	s.Decision.GuardFactor = &guard
}

// outerStrings returns the strings farthest to the bass and to the treble side; ok is false without strings.
func (s *Spec) outerStrings() (low, high String, ok bool) {
	for i, t := range s.Strings {
		if i == 0 || t.YNutMM < low.YNutMM {
			low = t
		}
		if i == 0 || t.YNutMM > high.YNutMM {
			high = t
		}
	}
	return low, high, len(s.Strings) > 0
}

// TracksOf returns the tracks that the specification knows: those it describes, and under the outer strings and down the
// middle "bass", "treble" and "centre" unless it describes them otherwise. From bass to treble.
func (s *Spec) TracksOf() []TrackSpec {
	tracks := slices.Clone(s.Tracks)
	add := func(t TrackSpec) {
		if !slices.ContainsFunc(s.Tracks, func(o TrackSpec) bool { return o.Name == t.Name }) {
			tracks = append(tracks, t)
		}
	}
	if low, high, ok := s.outerStrings(); ok {
		add(TrackSpec{bass, low.YNutMM, low.YSaddleMM})
		add(TrackSpec{centre, 0, 0})
		add(TrackSpec{treble, high.YNutMM, high.YSaddleMM})
	}
	slices.SortStableFunc(tracks, func(a, b TrackSpec) int {
		switch {
		case a.YNutMM < b.YNutMM:
			return -1
		case a.YNutMM > b.YNutMM:
			return 1
		}
		return 0
	})
	return tracks
}

// TrackNames returns the names that "each" track stands for: the routine's, or those of bass and treble without one.
func (s *Spec) TrackNames() []string {
	if s.Routine != nil && s.Routine.Tracks != nil {
		return slices.Clone(s.Routine.Tracks)
	}
	return []string{bass, treble}
}

// StringNumbers returns every string's number in rising order: from the treble side to the bass side.
func (s *Spec) StringNumbers() []int {
	numbers := make([]int, len(s.Strings))
	for i, t := range s.Strings {
		numbers[i] = t.Number
	}
	slices.Sort(numbers)
	return numbers
}

// FindString returns the string of a number, nil when the specification has none.
func (s *Spec) FindString(number int) *String {
	for i := range s.Strings {
		if s.Strings[i].Number == number {
			return &s.Strings[i]
		}
	}
	return nil
}

// fret returns the fret that a limit means.
func (l *Limit) fret() int {
	if l.Fret.Number == 0 {
		return kindOf(l.Characteristic).UsualFret
	}
	return l.Fret.Number
}
