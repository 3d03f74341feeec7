package inspect

import (
	"fmt"
	"slices"
)

// Unmeasurable returns the limits that the specification's own routine (see WithDefaults) can never measure, one fault for
// each: its place, why, and what to change. A neck measured at the bench could not pass such a specification; readings from
// elsewhere may hold more than the routine asks for, so it is a warning and no fault of Check. What the routine's readings
// give is found by evaluating a neck with every point of the routine. Nil for a specification that does not pass Check.
func (s *Spec) Unmeasurable() []Fault {
	if len(s.Check()) > 0 {
		return nil
	}
	given := s.WithDefaults()
	res, err := Evaluate(given, given.everyPoint(), Options{SkipUncertainty: true})
	if err != nil {
		return nil
	}
	first := make([]*Characteristic, len(given.Limits))
	find := limits{given.Limits}
	for i := range res.Characteristics {
		c := &res.Characteristics[i]
		if c.Zone != NotMeasured || c.Value != nil {
			continue
		}
		l := find.find(rowKey{c.Name, c.Track, c.String, c.Fret, c.HeldFret})
		if at := slices.IndexFunc(given.Limits, func(o Limit) bool { return l != nil && o == *l }); at >= 0 && first[at] == nil {
			first[at] = c
		}
	}
	var faults []Fault
	for i, c := range first {
		if c != nil {
			found, allowed := given.whyUnmeasurable(c)
			faults = append(faults, Fault{fmt.Sprintf("limit[%d]", i+1), found, allowed})
		}
	}
	return faults
}

// everyPoint returns readings of everything that the routine asks for, of a neck with a curved board and a forward bow.
func (s *Spec) everyPoint() *Readings {
	const bow, radius, nut, over = 0.3, 300.0, 0.5, 2.0 // mm; any sound neck does
	const leaves = 0.05                                 // mm, from the bow down to the leaf that passes and up to the one that does not
	none := 0.0
	low, high := bow-leaves, bow+leaves
	r := &Readings{Serial: "-", PitchDeclared: s.Routine.Pitch == "declared"}
	f := s.Fan()
	for _, t := range s.TracksOf() {
		if !slices.Contains(s.Routine.Tracks, t.Name) {
			continue
		}
		l := f.Line(t.YNutMM, t.YSaddleMM)
		switch s.Routine.Profile {
		case "each fret", "sweep":
			p := TrackReading{Track: t.Name, YNutMM: t.YNutMM, YSaddleMM: t.YSaddleMM}
			for i, y := range l.Y {
				along := l.X[i] / f.ScaleMM
				z := -4*bow*along*(1-along) - y*y/(2*radius)
				p.ZMM = append(p.ZMM, &z)
			}
			r.Profile = append(r.Profile, p)
		case "beam":
			r.Beam = append(r.Beam, BeamReading{Track: t.Name, FeetMM: [2]float64{l.At(s.Datum.FirstFret), l.At(s.Datum.SecondFret)},
				PlungerMM: l.At(s.Datum.ReliefFret), ReadingMM: bow})
		case "leaves":
			r.Leaves = append(r.Leaves, LeafReading{Track: t.Name, Fret: s.Datum.ReliefFret, PassesMM: &low, StopsMM: &high})
		}
	}
	for _, n := range s.StringNumbers() {
		if s.Routine.Pitch != "declared" {
			r.Pitch = append(r.Pitch, PitchReading{String: n, Cents: &none})
		}
		if !s.Routine.Strings.Each && !slices.Contains(s.Routine.Strings.Numbers, n) {
			continue
		}
		r.NutHeight = append(r.NutHeight, HeightReading{String: n, HeightMM: nut})
		for _, f := range s.Routine.ActionFrets {
			r.Action = append(r.Action, HeightReading{String: n, Fret: f, HeightMM: over})
		}
	}
	return r
}

// whyUnmeasurable says which part of the routine leaves a characteristic out, and what would bring it in.
func (s *Spec) whyUnmeasurable(c *Characteristic) (why, change string) {
	r, k := s.Routine, kindOf(c.Name)
	for _, p := range Involved(s, *c) {
		switch crown := p.Kind == PointCrown; {
		case (crown || p.Kind == PointBeam) && r.Profile == "none" || crown && (r.Profile == "beam" || r.Profile == "leaves"):
			ways := `"each fret" or "sweep"`
			if slices.Contains(k.Points, PointBeam) {
				ways = `"each fret", "sweep", "beam" or "leaves"`
			}
			return fmt.Sprintf("the routine's profile is %q", r.Profile), "give it profile " + ways
		case p.Track != "" && !slices.Contains(r.Tracks, p.Track):
			return fmt.Sprintf("track %q is not among the routine's tracks", p.Track), "add it to them"
		case p.String > 0 && p.Kind != PointPitch && !r.Strings.Each && !slices.Contains(r.Strings.Numbers, p.String):
			return fmt.Sprintf("string %d is not among the routine's strings", p.String), "add it to them"
		case p.Kind == PointAction && p.HeldFret > 0:
			return "the routine measures the strings open", "limit the open action"
		case p.Kind == PointAction && !slices.Contains(r.ActionFrets, p.Fret):
			return fmt.Sprintf("fret %d is not among the routine's action_frets", p.Fret), "add it to them"
		}
	}
	switch {
	case slices.Contains(k.Points, PointPitch):
		return "the routine's pitch is declared", `give it pitch "measured"`
	case k.Pluck && s.Pluck == nil:
		return "the specification gives no pluck", "add [pluck]"
	case k.Tracks > len(r.Tracks):
		change := `give it tracks "bass" and "treble"`
		if k.Tracks > 2 {
			change = `add a track, e.g. "centre"`
		}
		return fmt.Sprintf("it takes %s tracks and the routine has %d", map[int]string{1: "one", 2: "two", 3: "three"}[k.Tracks], len(r.Tracks)), change
	}
	if c.String > 0 {
		return fmt.Sprintf("string %d does not run between the routine's tracks", c.String), "add the track beside it"
	}
	return "the routine's points do not give it", "change the routine or the datum"
}
