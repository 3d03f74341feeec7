package inspect

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// checker collects faults.
type checker struct{ faults []Fault }

// fault adds one fault.
func (c *checker) fault(field, found, allowed string) {
	c.faults = append(c.faults, Fault{field, found, allowed})
}

// number checks that a number is finite and within bounds, ends included.
func (c *checker) number(field string, v, least, most float64, allowed string) {
	if !(v >= least && v <= most) {
		c.fault(field, fmt.Sprint(v), allowed)
	}
}

// optional is number for what may be left out.
func (c *checker) optional(field string, v *float64, least, most float64, allowed string) {
	if v != nil {
		c.number(field, *v, least, most, allowed)
	}
}

// word checks that a word is one of those allowed.
func (c *checker) word(field, found string, allowed ...string) {
	if !slices.Contains(allowed, found) {
		c.fault(field, fmt.Sprintf("%q", found), quoted(allowed))
	}
}

// quoted lists words for people.
func quoted(words []string) string {
	some := make([]string, len(words))
	for i, w := range words {
		some[i] = fmt.Sprintf("%q", w)
	}
	return strings.Join(some, ", ")
}

// whole checks that a whole number lies within bounds.
func (c *checker) whole(field string, n, least, most int) {
	if n < least || n > most {
		c.fault(field, fmt.Sprint(n), fmt.Sprintf("a whole number from %d to %d", least, most))
	}
}

// Check returns everything that is wrong with a specification, nil when nothing is. It covers what Evaluate relies on:
// counts and indexes within range, numbers finite and plausible, limits the right way up, with the suffix of their
// characteristic's unit, and none twice.
func (s *Spec) Check() []Fault {
	given := *s
	given.fillDatum()
	c := &checker{}
	if strings.TrimSpace(s.Name) == "" {
		c.fault("name", `""`, "a name")
	}
	c.neck(&given)
	c.strings(s)
	c.tracks(s)
	c.decision(&given)
	if s.Pluck != nil {
		c.number("pluck.force_n", s.Pluck.ForceN, 0, 100, "a force from 0 to 100 N")
		c.number("pluck.distance_mm", s.Pluck.DistanceMM, 0.1, s.Neck.ScaleMM, "a distance from the saddle above 0, at most the scale, mm")
	}
	if s.Plan != nil {
		c.optional("plan.first_pass_percent", s.Plan.FirstPassPercent, 0, 100, "a share from 0 to 100 percent")
		c.optional("plan.final_percent", s.Plan.FinalPercent, 0, 100, "a share from 0 to 100 percent")
	}
	if s.Routine != nil {
		c.routine(s)
	}
	seen := map[string]int{}
	for i := range s.Limits {
		c.limit(s, fmt.Sprintf("limit[%d]", i+1), &s.Limits[i])
		key := s.Limits[i].key()
		if first, twice := seen[key]; twice {
			c.fault(fmt.Sprintf("limit[%d]", i+1), "the same characteristic and indexes as limit["+fmt.Sprint(first)+"]", "one limit for each")
		} else {
			seen[key] = i + 1
		}
	}
	return c.faults
}

// key is what a limit applies to.
func (l *Limit) key() string {
	fret := l.Fret
	if l.Characteristic == action && fret.IsZero() {
		fret = NumberIndex(DefaultActionFret)
	}
	return fmt.Sprint(l.Characteristic, "/", l.Track, "/", l.String, "/", fret, "/", l.HeldFret)
}

func (c *checker) neck(s *Spec) {
	n := &s.Neck
	c.number("neck.scale_mm", n.ScaleMM, 100, 2000, "a scale length from 100 to 2000 mm")
	c.whole("neck.frets", n.Frets, 3, 48)
	c.whole("neck.joint_fret", n.JointFret, 2, max(n.Frets, 2))
	for _, r := range []struct {
		field string
		v     float64
	}{{"neck.nut_radius_mm", n.NutRadiusMM}, {"neck.last_fret_radius_mm", n.LastFretRadiusMM}} {
		if r.v == 0 {
			continue
		}
		c.number(r.field, r.v, math.Max(c.halfBoard(s), 10), 1e6, "0 for a flat board, or a radius above half the board's width, at most 1000000 mm")
	}
	c.word("neck.rod", n.Rod, "single", "double", "none")
	c.optional("neck.rod_turns_left", n.RodTurnsLeft, 0, 20, "0 to 20 turns")
	d := &s.Datum
	c.whole("datum.first_fret", d.FirstFret, 1, n.Frets)
	c.whole("datum.second_fret", d.SecondFret, 1, n.Frets)
	if d.SecondFret-d.FirstFret < 2 {
		c.fault("datum.second_fret", fmt.Sprint(d.SecondFret), fmt.Sprintf("at least two frets after the first, %d", d.FirstFret))
	} else if d.ReliefFret <= d.FirstFret || d.ReliefFret >= d.SecondFret {
		c.fault("datum.relief_fret", fmt.Sprint(d.ReliefFret), fmt.Sprintf("a fret between %d and %d", d.FirstFret, d.SecondFret))
	}
}

// halfBoard is the farthest place of a string or track from the centre line, mm.
func (c *checker) halfBoard(s *Spec) float64 {
	var far float64
	for _, t := range s.Strings {
		far = max(far, math.Abs(t.YNutMM), math.Abs(t.YSaddleMM))
	}
	for _, t := range s.Tracks {
		far = max(far, math.Abs(t.YNutMM), math.Abs(t.YSaddleMM))
	}
	return far
}

const sideways = "a place across the board from -200 to 200 mm, positive towards the treble side"

func (c *checker) strings(s *Spec) {
	if len(s.Strings) == 0 {
		c.fault("string", "none", "at least one [[string]]")
	}
	seen := map[int]bool{}
	for i := range s.Strings {
		t := &s.Strings[i]
		field := fmt.Sprintf("string[%d]", i+1)
		c.whole(field+".number", t.Number, 1, len(s.Strings))
		if seen[t.Number] {
			c.fault(field+".number", fmt.Sprint(t.Number), "each number once")
		}
		seen[t.Number] = true
		c.number(field+".pitch_hz", t.PitchHz, 1, 20000, "a pitch from 1 to 20000 Hz")
		c.number(field+".y_nut_mm", t.YNutMM, -200, 200, sideways)
		c.number(field+".y_saddle_mm", t.YSaddleMM, -200, 200, sideways)
		c.number(field+".diameter_mm", t.DiameterMM, 0.01, 10, "a diameter from 0.01 to 10 mm")
		c.optional(field+".mass_g_per_m", t.MassGPerM, 0.001, 1000, "0.001 to 1000 g/m")
		if t.MassGPerM == nil && !t.PlainString {
			c.fault(field+".mass_g_per_m", "none", "a mass per length, or plain = true for plain steel")
		}
	}
	low, high := s.FindString(len(s.Strings)), s.FindString(1)
	if low != nil && high != nil && low != high && low.YNutMM >= high.YNutMM {
		c.fault("string.y_nut_mm", fmt.Sprintf("string 1 at %v, string %d at %v", high.YNutMM, low.Number, low.YNutMM),
			"string 1, the highest pitched, on the treble side (greater y)")
	}
}

func (c *checker) tracks(s *Spec) {
	seen := map[string]bool{}
	for i := range s.Tracks {
		t := &s.Tracks[i]
		field := fmt.Sprintf("track[%d]", i+1)
		if t.Name == "" || t.Name == each || seen[t.Name] {
			c.fault(field+".name", fmt.Sprintf("%q", t.Name), `a name of its own other than "each"`)
		}
		seen[t.Name] = true
		c.number(field+".y_nut_mm", t.YNutMM, -200, 200, sideways)
		c.number(field+".y_saddle_mm", t.YSaddleMM, -200, 200, sideways)
	}
}

func (c *checker) decision(s *Spec) {
	c.word("decision.rule", s.Decision.Rule, simpleRule, guardedAcceptance, guardedRejection)
	c.number("decision.guard_factor", s.Decision.GuardFactor, 0, 10, "a factor from 0 to 10")
	const parts = "a standard uncertainty from 0 to 10 mm"
	u := &s.Uncertainty
	c.number("uncertainty.resolution_mm", u.ResolutionMM, 0, 10, "a resolution from 0 to 10 mm")
	c.number("uncertainty.calibration_mm", u.CalibrationMM, 0, 10, parts)
	c.number("uncertainty.repeatability_mm", u.RepeatabilityMM, 0, 10, parts)
	c.number("uncertainty.reference_mm", u.ReferenceMM, 0, 10, parts)
}

func (c *checker) routine(s *Spec) {
	r := s.Routine
	known := s.knownTracks()
	for i, name := range r.Tracks {
		field := fmt.Sprintf("routine.tracks[%d]", i+1)
		c.word(field, name, known...)
		if slices.Index(r.Tracks, name) < i {
			c.fault(field, fmt.Sprintf("%q", name), "each track once")
		}
	}
	for i, f := range r.ActionFrets {
		field := fmt.Sprintf("routine.action_frets[%d]", i+1)
		c.whole(field, f, 1, s.Neck.Frets)
		if slices.Index(r.ActionFrets, f) < i {
			c.fault(field, fmt.Sprint(f), "each fret once")
		}
	}
	for i, n := range r.Strings.Numbers {
		field := fmt.Sprintf("routine.strings[%d]", i+1)
		c.whole(field, n, 1, len(s.Strings))
		if slices.Index(r.Strings.Numbers, n) < i {
			c.fault(field, fmt.Sprint(n), "each string once")
		}
	}
	if r.Profile != "" {
		c.word("routine.profile", r.Profile, "each fret", "sweep", "beam", "leaves", "none")
	}
	if r.Pitch != "" {
		c.word("routine.pitch", r.Pitch, "measured", "declared")
	}
	if r.Posture != "" {
		c.word("routine.posture", r.Posture, "playing", "flat")
	}
}

// knownTracks names the tracks of TracksOf.
func (s *Spec) knownTracks() []string {
	tracks := s.TracksOf()
	names := make([]string, len(tracks))
	for i, t := range tracks {
		names[i] = t.Name
	}
	return names
}
