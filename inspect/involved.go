package inspect

import "slices"

// Kinds of measuring points.
const (
	PointCrown      = "crown"       // a fret's crown on a track
	PointAction     = "action"      // a string over a fret
	PointNutHeight  = "nut height"  // a string over fret 1
	PointPitch      = "pitch"       // a string's pitch
	PointBeam       = "beam"        // a two-foot beam on a track
	PointLeafPasses = "leaf passes" // the thickest leaf that passes on a track
	PointLeafStops  = "leaf stops"  // the thinnest leaf that does not
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
	d := given.Datum
	last := given.Neck.Frets
	switch c.Name {
	case relief:
		p.relief(&c, d)
	case reliefMax:
		p.crowns(c.Track, d.FirstFret, d.SecondFret)
	case sideDifference:
		for _, t := range given.outerTracks() {
			p.crown(t, d.FirstFret, d.ReliefFret, d.SecondFret)
		}
	case twist:
		for _, t := range given.outerTracks() {
			p.crown(t, d.FirstFret, d.SecondFret)
		}
	case straightness:
		p.crowns(c.Track, 1, last)
	case hump, fallAway:
		p.crowns(c.Track, 1, d.SecondFret)
		if c.Name == fallAway {
			p.crown(c.Track, last)
		} else {
			p.crowns(c.Track, d.SecondFret+1, last)
		}
	case flatness, levelZone:
		if c.Name == levelZone {
			last = d.SecondFret
		}
		for _, t := range given.TrackNames() {
			p.crowns(t, 1, last)
		}
	case levelDeviation, rocker:
		// The bend curve's part is small and well determined: the crown and its neighbours decide.
		p.crowns(c.Track, max(c.Fret-1, 1), min(c.Fret+1, last))
	case boardRadius:
		for _, t := range given.TrackNames() {
			p.crown(t, c.Fret)
		}
	case action:
		p.add(PointRef{Kind: PointAction, String: c.String, Fret: c.Fret, HeldFret: c.HeldFret})
	case nutHeight:
		p.add(PointRef{Kind: PointNutHeight, String: c.String})
	case pitch:
		p.add(PointRef{Kind: PointPitch, String: c.String})
	case clearance, margin:
		p.clearance(&c)
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

// relief adds what a relief's method measures.
func (p *points) relief(c *Characteristic, d Datum) {
	switch {
	case c.Method == "beam" || c.Method == "" && p.profileOf("beam"):
		p.add(PointRef{Kind: PointBeam, Track: c.Track, Fret: d.ReliefFret})
	case c.Method == "leaves" || c.Method == "" && p.profileOf("leaves"):
		p.add(PointRef{Kind: PointLeafPasses, Track: c.Track, Fret: d.ReliefFret})
		p.add(PointRef{Kind: PointLeafStops, Track: c.Track, Fret: d.ReliefFret})
	default:
		p.crown(c.Track, d.FirstFret, d.ReliefFret, d.SecondFret)
	}
}

// profileOf reports that the routine takes relief that way.
func (p *points) profileOf(way string) bool {
	return p.spec.Routine != nil && p.spec.Routine.Profile == way
}

// clearance adds a string's heights and the crowns beside it: those of the outer tracks that "each" stands for, or of the
// tracks between which the string runs.
func (p *points) clearance(c *Characteristic) {
	p.add(PointRef{Kind: PointNutHeight, String: c.String})
	fret := DefaultActionFret
	if r := p.spec.Routine; r != nil && len(r.ActionFrets) > 0 && !slices.Contains(r.ActionFrets, fret) {
		fret = slices.Max(r.ActionFrets)
	}
	p.add(PointRef{Kind: PointAction, String: c.String, Fret: fret})
	t := p.spec.FindString(c.String)
	if t == nil {
		return
	}
	low, high := "", ""
	wanted := p.spec.TrackNames()
	for _, k := range p.spec.TracksOf() { // from bass to treble
		if !slices.Contains(wanted, k.Name) {
			continue
		}
		if k.YNutMM <= t.YNutMM+onTrack {
			low = k.Name
		}
		if high == "" && k.YNutMM >= t.YNutMM-onTrack {
			high = k.Name
		}
	}
	for _, name := range []string{low, high} {
		if name != "" {
			p.crowns(name, 1, p.spec.Neck.Frets)
		}
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
