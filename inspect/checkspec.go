package inspect

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// How many strings, tracks and limits a specification may have.
const (
	mostStrings = 24
	mostTracks  = 24
	mostLimits  = 1000
)

// checker collects faults.
type checker struct {
	faults []Fault
	list   string // the list whose entry is being checked, "" outside lists
	entry  int    // from 1
}

// forEach checks each of n entries of a list; fields are named relative to the entry meanwhile, "" for the entry itself.
func (c *checker) forEach(list string, n int, check func(i int)) {
	for i := range n {
		c.list, c.entry = list, i+1
		check(i)
	}
	c.list = ""
}

// fault adds one fault.
func (c *checker) fault(field, found, allowed string) {
	if c.list != "" {
		field = fmt.Sprintf("%s[%d]%s", c.list, c.entry, field)
	}
	c.faults = append(c.faults, Fault{field, found, allowed})
}

// missing adds the fault of something that is not there.
func (c *checker) missing(field, needed string) { c.fault(field, "", needed) }

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

// choice is word for what may be left out.
func (c *checker) choice(field, found string, allowed ...string) {
	if found != "" {
		c.word(field, found, allowed...)
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
	for _, list := range []struct {
		name    string
		n, most int
	}{{"string", len(s.Strings), mostStrings}, {"track", len(s.Tracks), mostTracks}, {"limit", len(s.Limits), mostLimits}} {
		if list.n > list.most {
			c.fault(list.name, fmt.Sprint(list.n), fmt.Sprintf("%d", list.most))
		}
	}
	if len(c.faults) > 0 {
		return c.faults // nothing is looked at of what nobody can have meant
	}
	if strings.TrimSpace(s.Name) == "" {
		c.fault("name", `""`, "a name")
	}
	c.neck(&given)
	c.strings(s)
	c.tracks(s)
	if len(c.faults) == 0 {
		c.fan(s)
	}
	c.decision(&given)
	if s.Pluck != nil {
		c.number("pluck.force_n", s.Pluck.ForceN, 0, 100, "a force from 0 to 100 N")
		most, allowed := s.Neck.shortestScale(), "a distance from the saddle above 0, at most the scale, mm"
		if s.Neck.MultiScale() {
			allowed = "a distance from the saddle above 0, at most the shorter scale, mm"
		}
		if most >= leastScaleMM { // else the scale is at fault
			c.number("pluck.distance_mm", s.Pluck.DistanceMM, 0.1, most, allowed)
		}
	}
	if s.Plan != nil {
		c.plan(s)
	}
	if s.Alarms != nil {
		c.alarms(s)
	}
	if s.Routine != nil {
		c.routine(s)
	}
	seen := make(map[limitKey]int, len(s.Limits))
	c.forEach("limit", len(s.Limits), func(i int) {
		c.limit(s, &s.Limits[i])
		key := s.Limits[i].key()
		if first, twice := seen[key]; twice {
			c.fault("", fmt.Sprintf("the same characteristic and indexes as limit[%d]", first), "one limit for each")
		} else {
			seen[key] = i + 1
		}
	})
	return c.faults
}

// limitKey is what a limit applies to.
type limitKey struct {
	characteristic, track string
	string, fret          Index
	held                  int
}

// key returns what a limit applies to.
func (l *Limit) key() limitKey {
	k := limitKey{l.Characteristic, l.Track, l.String, l.Fret, l.HeldFret}
	if usual := kindOf(l.Characteristic).UsualFret; usual != 0 && k.fret.IsZero() {
		k.fret = NumberIndex(usual)
	}
	return k
}

func (c *checker) neck(s *Spec) {
	n := &s.Neck
	c.scales(s)
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
	c.choice("neck.kind", n.Kind, InstrumentKinds()...)
	c.choice("neck.joint", n.Joint, Joints()...)
	c.choice("neck.bridge", n.Bridge, Bridges()...)
	c.word("neck.rod", n.Rod, "single", "double", "none")
	c.choice("neck.rod_end", n.RodEnd, RodEnds()...)
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
	c.forEach("string", len(s.Strings), func(i int) {
		t := &s.Strings[i]
		c.whole(".number", t.Number, 1, len(s.Strings))
		if seen[t.Number] {
			c.fault(".number", fmt.Sprint(t.Number), "each number once")
		}
		seen[t.Number] = true
		c.number(".pitch_hz", t.PitchHz, 1, 20000, "a pitch from 1 to 20000 Hz")
		c.number(".y_nut_mm", t.YNutMM, -200, 200, sideways)
		c.number(".y_saddle_mm", t.YSaddleMM, -200, 200, sideways)
		c.number(".diameter_mm", t.DiameterMM, 0.01, 10, "a diameter from 0.01 to 10 mm")
		c.optional(".mass_g_per_m", t.MassGPerM, 0.001, 1000, "0.001 to 1000 g/m")
		c.choice(".material", t.Material, Materials()...)
		if t.MassGPerM == nil && s.MaterialOf(t) == Nylon {
			c.fault(".mass_g_per_m", "none", "the mass per length of a nylon string, g/m, which its diameter does not tell: weigh a length of it, or ask its maker; "+
				`material = "steel" for a steel string`)
		}
	})
	first := s.FindString(1)
	for i := range s.Strings {
		if t := &s.Strings[i]; first != nil && t.Number != 1 && t.YNutMM >= first.YNutMM {
			c.fault("string.y_nut_mm", fmt.Sprintf("string 1 at %v, string %d at %v", first.YNutMM, t.Number, t.YNutMM),
				"string 1, the outermost on the treble side, at the greatest y")
			return
		}
	}
}

func (c *checker) tracks(s *Spec) {
	seen := map[string]bool{}
	c.forEach("track", len(s.Tracks), func(i int) {
		t := &s.Tracks[i]
		if t.Name == "" || t.Name == each || seen[t.Name] {
			c.fault(".name", fmt.Sprintf("%q", t.Name), `a name of its own other than "each"`)
		}
		seen[t.Name] = true
		c.number(".y_nut_mm", t.YNutMM, -200, 200, sideways)
		c.number(".y_saddle_mm", t.YSaddleMM, -200, 200, sideways)
	})
}

func (c *checker) decision(s *Spec) {
	c.word("decision.rule", s.Decision.Rule, simpleRule, GuardedAcceptance, guardedRejection)
	c.number("decision.guard_factor", s.Decision.Guard(), 0, 10, "a factor from 0 to 10")
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
	c.forEach("routine.tracks", len(r.Tracks), func(i int) {
		name := r.Tracks[i]
		c.word("", name, known...)
		if slices.Index(r.Tracks, name) < i {
			c.fault("", fmt.Sprintf("%q", name), "each track once")
		}
	})
	c.forEach("routine.action_frets", len(r.ActionFrets), func(i int) {
		f := r.ActionFrets[i]
		c.whole("", f, 1, s.Neck.Frets)
		if slices.Index(r.ActionFrets, f) < i {
			c.fault("", fmt.Sprint(f), "each fret once")
		}
	})
	c.forEach("routine.strings", len(r.Strings.Numbers), func(i int) {
		n := r.Strings.Numbers[i]
		c.whole("", n, 1, len(s.Strings))
		if slices.Index(r.Strings.Numbers, n) < i {
			c.fault("", fmt.Sprint(n), "each string once")
		}
	})
	c.optional("routine.takt_s", r.TaktS, 1, 86400, "a time from 1 to 86400 s")
	c.forEach("routine.leaves_mm", len(r.LeavesMM), func(i int) { c.number("", r.LeavesMM[i], 0.005, 5, "a leaf's thickness from 0.005 to 5 mm") })
	if r.Profile != "" {
		c.word("routine.profile", r.Profile, "each fret", "sweep", "beam", "leaves", "none")
	}
	if r.Pitch != "" {
		c.word("routine.pitch", r.Pitch, "measured", "declared")
	}
	if r.Posture != "" {
		c.word("routine.posture", r.Posture, "playing", "flat")
		c.choice("routine.repairs", r.Repairs, Repairs()...)
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
