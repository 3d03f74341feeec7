package inspect

import (
	"fmt"
	"math"
)

// mostReliefMM is the greatest |relief| that is believed; common practice, no source.
const mostReliefMM = 2.0

// Check returns everything that is wrong with readings of a neck of the specification, which has passed its Check, nil when nothing is: counts,
// indexes that do not exist, the same point twice, numbers that are not finite, and what no neck can be (a relief of more
// than 2 mm, sides in the wrong order).
func (r *Readings) Check(s *Spec) []Fault {
	given := *s
	given.fillDatum()
	c := &checker{}
	f := given.Fan()
	c.profile(&given, f, r)
	c.heights(&given, "action", r.Action, true)
	c.heights(&given, "nut_height", r.NutHeight, false)
	c.pitches(&given, r)
	c.leaves(&given, r)
	c.beams(&given, f, r)
	c.history(&given, r)
	if r.Posture != "" {
		c.word("posture", r.Posture, "playing", "flat")
	}
	if r.Handed != "" {
		c.word("handed", r.Handed, "left", "right")
	}
	if r.Climate != nil {
		c.optional("climate.temperature_c", r.Climate.TemperatureC, -50, 80, "a temperature from -50 to 80 C")
		c.optional("climate.humidity_percent", r.Climate.HumidityPercent, 0, 100, "a relative humidity from 0 to 100 %")
	}
	if n := len(r.FretXMM); n != 0 && n != s.Neck.Frets {
		c.fault("fret_x_mm", fmt.Sprintf("a list of %d", n), fmt.Sprintf("a list of %d, one for each fret", s.Neck.Frets))
	}
	c.entries("fret_x_mm", r.FretXMM, 0, 2000, "a place from 0 to 2000 mm from the nut, or null")
	return c.faults
}

// entries checks a list with nulls.
func (c *checker) entries(field string, v []*float64, least, most float64, allowed string) {
	for i, e := range v {
		if e != nil && !(*e >= least && *e <= most) {
			c.fault(fmt.Sprintf("%s[%d]", field, i+1), fmt.Sprint(*e), allowed)
		}
	}
}

const oneU = "a standard uncertainty from 0 to 10 mm"

func (c *checker) profile(s *Spec, f *Fan, r *Readings) {
	seen := map[string]bool{}
	mirrored := r.mirrored(s)
	var low, high *TrackReading
	c.forEach("profile", len(r.Profile), func(i int) {
		t := &r.Profile[i]
		if t.Track == "" || t.Track == each || seen[t.Track] {
			c.fault(".track", fmt.Sprintf("%q", t.Track), `a track's name, each once, other than "each"`)
		}
		seen[t.Track] = true
		c.number(".y_nut_mm", t.YNutMM, -200, 200, sideways)
		c.number(".y_saddle_mm", t.YSaddleMM, -200, 200, sideways)
		for _, list := range []struct {
			name     string
			v        []*float64
			required bool
		}{{"z_mm", t.ZMM, true}, {"u_mm", t.UMM, false}, {"crown_mm", t.CrownMM, false}} {
			if n := len(list.v); n != s.Neck.Frets && (list.required || n != 0) {
				c.fault("."+list.name, fmt.Sprintf("a list of %d", n), fmt.Sprintf("a list of %d, one for each fret (null where not measured)", s.Neck.Frets))
			}
		}
		if s.Neck.MultiScale() {
			c.crossing(f.lineOf(t, mirrored))
		}
		before := len(c.faults)
		c.entries(".z_mm", t.ZMM, -1000, 1000, "a height from -1000 to 1000 mm, or null")
		c.entries(".u_mm", t.UMM, 0, 10, oneU+", or null")
		c.entries(".crown_mm", t.CrownMM, 0, 10, "a crown height from 0 to 10 mm, or null")
		if before == len(c.faults) && len(t.ZMM) == s.Neck.Frets {
			c.plausible(s, f.lineOf(t, mirrored), t.ZMM)
		}
		switch t.Track {
		case bass:
			low = t
		case treble:
			high = t
		}
	})
	if low != nil && high != nil && (low.YNutMM == high.YNutMM || low.YNutMM > high.YNutMM && r.Handed != "left") {
		c.fault("profile.y_nut_mm", fmt.Sprintf("bass at %v, treble at %v", low.YNutMM, high.YNutMM),
			"the treble side at the greater y (the sides are in the wrong order; a left-handed instrument says so)")
	}
	c.withinRadius(s, r)
}

// withinRadius checks that the tracks lie where the board's arc has a height.
func (c *checker) withinRadius(s *Spec, r *Readings) {
	half := 0.0
	for i := range r.Profile {
		half = max(half, math.Abs(r.Profile[i].YNutMM), math.Abs(r.Profile[i].YSaddleMM))
	}
	for _, radius := range []float64{s.Neck.NutRadiusMM, s.Neck.LastFretRadiusMM} {
		if radius != 0 && half >= math.Abs(radius) {
			c.fault("profile.y_saddle_mm", fmt.Sprint(half), fmt.Sprintf("less than the board's radius, %v mm", radius))
		}
	}
}

// plausible refuses a relief that no neck has.
func (c *checker) plausible(s *Spec, l Line, z []*float64) {
	a, b := s.Datum.FirstFret, s.Datum.SecondFret
	if a < 1 || b > len(z) || b <= a || z[a-1] == nil || z[b-1] == nil {
		return
	}
	for k := a + 1; k < b; k++ {
		if z[k-1] == nil {
			continue
		}
		v := reliefAt(l.At(a), l.At(k), l.At(b), *z[a-1], *z[k-1], *z[b-1])
		if math.Abs(v) > mostReliefMM {
			c.relief(fmt.Sprintf(".z_mm[%d]", k), v)
			return
		}
	}
}

// relief adds the fault of a relief that is not believed.
func (c *checker) relief(field string, v float64) {
	c.fault(field, fmt.Sprintf("a relief of %.3f mm", v), "at most 2 mm either way: no neck in use bends more, so read the unit, the sign and the zero again")
}

func (c *checker) heights(s *Spec, name string, heights []HeightReading, frets bool) {
	seen := map[[3]int]bool{}
	c.forEach(name, len(heights), func(i int) {
		h := &heights[i]
		c.whole(".string", h.String, 1, len(s.Strings))
		if frets && h.Fret == 0 {
			c.missing(".fret", fmt.Sprintf("a whole number from 1 to %d", s.Neck.Frets))
		} else if frets {
			c.whole(".fret", h.Fret, 1, s.Neck.Frets)
			if h.HeldFret < 0 || h.HeldFret >= h.Fret && h.HeldFret != 0 {
				c.fault(".held_fret", fmt.Sprint(h.HeldFret), "0 for an open string, or a fret before the one it is measured over")
			}
		} else {
			if h.Fret != 0 && h.Fret != 1 {
				c.fault(".fret", fmt.Sprint(h.Fret), "none: nut heights are over fret 1")
			}
			c.whole(".held_fret", h.HeldFret, 0, 0)
		}
		c.number(".height_mm", h.HeightMM, 0, 50, "a height from 0 to 50 mm: a string cannot lie below the crown's top")
		c.optional(".u_mm", h.UMM, 0, 10, oneU)
		key := [3]int{h.String, h.Fret, h.HeldFret}
		if !frets {
			key = [3]int{h.String}
		}
		if seen[key] {
			c.fault("", "the same point twice", "one entry for each string, fret and held fret: average them first")
		}
		seen[key] = true
	})
}

func (c *checker) pitches(s *Spec, r *Readings) {
	seen := map[int]bool{}
	c.forEach("pitch", len(r.Pitch), func(i int) {
		p := &r.Pitch[i]
		c.whole(".string", p.String, 1, len(s.Strings))
		if seen[p.String] {
			c.fault(".string", fmt.Sprint(p.String), "each string once")
		}
		seen[p.String] = true
		if (p.Hz == nil) == (p.Cents == nil) {
			c.fault("", map[bool]string{true: "neither hz nor cents", false: "hz and cents"}[p.Hz == nil], "one of hz and cents")
		}
		c.optional(".hz", p.Hz, 1, 20000, "a pitch from 1 to 20000 Hz")
		c.optional(".cents", p.Cents, -2400, 2400, "-2400 to 2400 cents from the target")
	})
	c.forEach("intonation", len(r.Intonation), func(i int) {
		n := &r.Intonation[i]
		c.whole(".string", n.String, 1, len(s.Strings))
		c.whole(".fret", n.Fret, 1, s.Neck.Frets)
		c.number(".open_hz", n.OpenHz, 1, 20000, "a pitch from 1 to 20000 Hz")
		c.number(".fretted_hz", n.FrettedHz, 1, 20000, "a pitch from 1 to 20000 Hz")
		for j := range i {
			if r.Intonation[j].String == n.String && r.Intonation[j].Fret == n.Fret {
				c.fault("", "the same point twice", "one entry for each string and fret")
			}
		}
	})
}
