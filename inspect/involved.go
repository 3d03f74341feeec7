package inspect

import "slices"

// Kinds of measuring points.
const (
	PointCrown      = "crown"       // a fret's crown on a track
	PointAction     = "action"      // a string over a fret
	PointNutHeight  = "nut height"  // a string over fret 1
	PointPitch      = "pitch"       // a string's pitch
	PointBeam       = "beam"        // a beam on two feet on a track
	PointLeafPasses = "leaf passes" // the thickest leaf that passes on a track
	PointLeafStops  = "leaf stops"  // the thinnest leaf that does not
	PointMass       = "mass"        // a string's, estimated: no reading, but a part of an uncertainty
)

// PointRef is one measuring point. Index fields that do not apply are 0 or empty.
type PointRef struct {
	Kind     string
	Track    string
	Fret     int
	String   int
	HeldFret int
}

// Involved returns the points that determine a characteristic, each once: those to measure again when it is undecided. A
// relief is determined by its method's points (the profile's without a method), a characteristic over several tracks by
// those that "each" track stands for. Places of frets and intonation are no points of a routine.
func Involved(s *Spec, c Characteristic) []PointRef {
	given := *s
	given.fillDatum()
	p := &points{spec: &given}
	if k := kindOf(c.Name); k.involved != nil {
		k.involved(p, &c)
	}
	return p.all
}

// points collects measuring points.
type points struct {
	spec *Spec
	all  []PointRef
}

// add adds a point that is not there yet.
func (p *points) add(ref PointRef) {
	if !slices.Contains(p.all, ref) {
		p.all = append(p.all, ref)
	}
}

// crown adds crowns of a track.
func (p *points) crown(track string, frets ...int) {
	for _, f := range frets {
		p.add(PointRef{Kind: PointCrown, Track: track, Fret: f})
	}
}

// crowns adds the crowns of a track from one fret to another.
func (p *points) crowns(track string, from, to int) {
	for f := from; f <= to; f++ {
		p.crown(track, f)
	}
}

// outerTracks names the tracks of twist and side difference: bass and treble, else the outermost of those that "each"
// stands for.
func (s *Spec) outerTracks() []string {
	wanted := s.TrackNames()
	if slices.Contains(wanted, bass) && slices.Contains(wanted, treble) {
		return []string{bass, treble}
	}
	var there []string
	for _, t := range s.TracksOf() {
		if slices.Contains(wanted, t.Name) {
			there = append(there, t.Name)
		}
	}
	if len(there) < 2 {
		return there
	}
	return []string{there[0], there[len(there)-1]}
}
