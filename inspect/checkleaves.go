package inspect

import (
	"fmt"
	"math"
	"slices"
)

func (c *checker) leaves(s *Spec, r *Readings) {
	c.forEach("leaves", len(r.Leaves), func(i int) {
		l := &r.Leaves[i]
		c.named(s, r, l.Track)
		c.whole(".fret", l.Fret, s.Datum.FirstFret, s.Datum.SecondFret)
		c.optional(".passes_mm", l.PassesMM, 0, mostReliefMM, "a leaf from 0 to 2 mm")
		c.optional(".stops_mm", l.StopsMM, 0, mostReliefMM, "a leaf from 0 to 2 mm")
		c.optional(".u_mm", l.UMM, 0, 10, oneU)
		switch {
		case l.PassesMM == nil && l.StopsMM == nil:
			c.fault("", "no leaf", "passes_mm, stops_mm or both")
		case l.PassesMM != nil && l.StopsMM != nil && *l.PassesMM >= *l.StopsMM:
			c.fault(".stops_mm", fmt.Sprint(*l.StopsMM), fmt.Sprintf("a thicker leaf than the one that passes, %v mm", *l.PassesMM))
		}
		for j := range i {
			if r.Leaves[j].Track == l.Track && r.Leaves[j].Fret == l.Fret {
				c.fault("", "the same point twice", "one interval for each track and fret")
			}
		}
	})
}

var feetFields = [2]string{".feet_mm[1]", ".feet_mm[2]"}

func (c *checker) beams(s *Spec, f *Fan, r *Readings) {
	c.forEach("beam", len(r.Beam), func(i int) {
		b := &r.Beam[i]
		c.named(s, r, b.Track)
		before := len(c.faults)
		for k, foot := range b.FeetMM {
			c.number(feetFields[k], foot, -500, 2000, "a place from -500 to 2000 mm from the nut")
		}
		if !(b.FeetMM[0] < b.PlungerMM && b.PlungerMM < b.FeetMM[1]) {
			c.fault(".plunger_mm", fmt.Sprint(b.PlungerMM), fmt.Sprintf("between the feet, which rise from the nut: %v and %v", b.FeetMM[0], b.FeetMM[1]))
		}
		c.number(".reading_mm", b.ReadingMM, -10, 10, "a reading from -10 to 10 mm")
		c.optional(".u_mm", b.UMM, 0, 10, oneU)
		if before == len(c.faults) {
			if v := b.ReadingMM * s.beamFactor(s.lineOf(f, r, b.Track), b); math.Abs(v) > mostReliefMM {
				c.relief(".reading_mm", v)
			}
		}
		for j := range i {
			if r.Beam[j].Track == b.Track {
				c.fault("", "the same track twice", "one reading for each track: average them first")
			}
		}
	})
}

// named checks the name of a track whose place is given elsewhere: in the specification or the profile.
func (c *checker) named(s *Spec, r *Readings, name string) {
	known := s.knownTracks()
	for i := range r.Profile {
		if !slices.Contains(known, r.Profile[i].Track) {
			known = append(known, r.Profile[i].Track)
		}
	}
	c.word(".track", name, known...)
}

// history checks the rod's steps.
func (c *checker) history(s *Spec, r *Readings) {
	c.optional("rod_turned", r.RodTurned, -20, 20, "-20 to 20 turns, positive tightened")
	c.forEach("rod_steps", len(r.RodSteps), func(i int) {
		t := &r.RodSteps[i]
		c.number(".turns", t.Turns, 1e-3, 10, "0.001 to 10 turns, without a sign")
		c.word(".direction", t.Direction, "tighten", "loosen")
		c.number(".relief_before_mm", t.ReliefBeforeMM, -10, 10, "a relief from -10 to 10 mm")
		c.number(".relief_after_mm", t.ReliefAfterMM, -10, 10, "a relief from -10 to 10 mm")
		c.optional(".u_mm", t.UMM, 1e-6, 10, "a standard uncertainty above 0, at most 10 mm")
		for _, mm := range t.ReliefAgainMM {
			c.number(".relief_again_mm", mm, -10, 10, "reliefs from -10 to 10 mm")
		}
		for _, a := range t.Action {
			if s.FindString(a.String) == nil {
				c.fault(".action.string", fmt.Sprint(a.String), "a string of the specification")
			}
			c.number(".action.fret", float64(a.Fret), 1, float64(s.Neck.Frets), fmt.Sprintf("a fret from 1 to %d", s.Neck.Frets))
			c.number(".action.before_mm", a.BeforeMM, -10, 50, "a height from -10 to 50 mm")
			c.number(".action.after_mm", a.AfterMM, -10, 50, "a height from -10 to 50 mm")
			c.optional(".action.u_mm", a.UMM, 1e-6, 10, "a standard uncertainty above 0, at most 10 mm")
		}
	})
}
