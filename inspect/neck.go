package inspect

import (
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// neck is a specification and the readings of one neck, laid out for computing. Everything is indexed from 0: fret n is
// entry n-1. Heights that were not measured are NaN.
type neck struct {
	spec     *Spec
	readings *Readings
	fan      *Fan
	frets    int     // how many
	a, b, k  int     // datum frets and the fret relief is taken at, counted from 1
	u        float64 // standard uncertainty of one reading of the specification's gauge
	tracks   []*track
	low      *track // bass side, nil below two tracks
	high     *track
	strings  []stringLine

	quick bool // no uncertainties
}

// track is one measured line along the neck.
type track struct {
	*neck
	name     string
	line     Line
	x, y     []float64 // the line's
	z        []float64
	uz       []float64 // standard uncertainty of each crown
	sagitta  []float64 // what developing adds to z
	crown    []*float64
	bend     *fit.Bend
	complete bool // every crown measured

	uBend [][2]*fit.Bend // bend curves with one crown raised and lowered by its u; made once, see propagate
}

// readingU returns the standard uncertainty of one reading: u^2 = res^2/12 + u_cal^2 + u_rep^2 + u_ref^2 (JCGM 100:2008,
// 5.1.2, the resolution by its 4.3.7 as a rectangle).
func (u *UncertaintySpec) readingU() float64 {
	return math.Sqrt(u.ResolutionMM*u.ResolutionMM/12 + u.CalibrationMM*u.CalibrationMM +
		u.RepeatabilityMM*u.RepeatabilityMM + u.ReferenceMM*u.ReferenceMM)
}

// ReadingU returns the standard uncertainty, mm, of one reading taken with the specification's gauge.
func (s *Spec) ReadingU() float64 { return s.Uncertainty.readingU() }

// own returns a reading's own standard uncertainty, or that of the specification's gauge.
func (n *neck) own(u *float64) float64 {
	if u != nil {
		return *u
	}
	return n.u
}

// newNeck lays out readings that have been checked.
func newNeck(s *Spec, r *Readings, quick bool) (*neck, error) {
	n := &neck{
		spec: s, fan: s.Fan(), frets: s.Neck.Frets, readings: r, a: s.Datum.FirstFret, b: s.Datum.SecondFret, k: s.Datum.ReliefFret,
		u: s.ReadingU(), quick: quick,
	}
	mirrored := r.mirrored(s)
	for i := range r.Profile {
		t, err := n.newTrack(&r.Profile[i], mirrored)
		if err != nil {
			return nil, err
		}
		n.tracks = append(n.tracks, t)
	}
	n.low, n.high = n.outerTracks()
	n.strings = n.newStringLines()
	return n, nil
}

// mirrored reports that the places of a left-handed instrument's tracks were given as seen on the bench: across the centre line
// from where the specification has the tracks of their names.
func (r *Readings) mirrored(s *Spec) bool {
	if r.Handed != "left" {
		return false
	}
	var same float64 // below 0 where they lie on the other side
	for _, known := range s.TracksOf() {
		for i := range r.Profile {
			if t := &r.Profile[i]; t.Track == known.Name {
				same += t.YNutMM*known.YNutMM + t.YSaddleMM*known.YSaddleMM
			}
		}
	}
	return same < 0
}

// newTrack lays out one profile and fits its bend curve.
func (n *neck) newTrack(r *TrackReading, mirrored bool) (*track, error) {
	all := make([]float64, 3*n.frets)
	t := &track{neck: n, name: r.Track, complete: true, crown: r.CrownMM}
	t.z, t.uz, t.sagitta = all[:n.frets], all[n.frets:2*n.frets], all[2*n.frets:]
	t.line = n.fan.lineOf(r, mirrored)
	t.x, t.y = t.line.X, t.line.Y
	for i, x := range t.x {
		t.sagitta[i] = Developed(0, t.y[i], n.fan.Radius(x))
		t.z[i], t.uz[i] = math.NaN(), n.u
		if r.ZMM[i] != nil {
			t.z[i] = *r.ZMM[i]
		} else {
			t.complete = false
		}
		if len(r.UMM) > 0 {
			t.uz[i] = n.own(r.UMM[i])
		}
		if len(r.OwnUMM) > 0 {
			t.uz[i] = r.OwnUMM[i]
		}
	}
	var err error
	t.bend, err = t.fitBend()
	return t, err
}

// outerTracks returns the tracks named bass and treble, else the outermost ones; nil below two tracks.
func (n *neck) outerTracks() (low, high *track) {
	if len(n.tracks) < 2 {
		return nil, nil
	}
	low, high = n.track(bass), n.track(treble)
	if low != nil && high != nil {
		return low, high
	}
	low, high = n.tracks[0], n.tracks[0]
	for _, t := range n.tracks {
		if t.y[0] < low.y[0] {
			low = t
		}
		if t.y[0] > high.y[0] {
			high = t
		}
	}
	if low == high {
		return nil, nil
	}
	return low, high
}

// track returns the track of a name, nil when it was not measured.
func (n *neck) track(name string) *track {
	i := slices.IndexFunc(n.tracks, func(t *track) bool { return t.name == name })
	if i < 0 {
		return nil
	}
	return n.tracks[i]
}

// lineOf returns the line of a track, measured by a profile or not.
func (n *neck) lineOf(name string) Line { return n.spec.lineOf(n.fan, n.readings, name) }

// missing reports a crown of frets from to to, counted from 1, that was not measured.
func (t *track) missing(from, to int) bool {
	for i := from - 1; i < to; i++ {
		if math.IsNaN(t.z[i]) {
			return true
		}
	}
	return false
}

// measured reports that fret n, counted from 1, exists and its crown was measured.
func (t *track) measured(n int) bool { return n >= 1 && n <= len(t.z) && !math.IsNaN(t.z[n-1]) }
