// Package laying decides what crowns measured in one place of the neck have to do with those measured in another. It is pure:
// numbers in, data out, no words.
//
// A laying lasts while neck and carriage keep their places. All its crowns share one unknown plane (an offset, a tilt along, a tilt
// across), so characteristics are computed from crowns of one laying or from crowns carried into it.
//
//	Links      which old crowns are measured again so that the others can be carried
//	Carry      old crowns into a new laying, with the weights that propagate their uncertainty
//	FindStep   something moved while it was measured, from the profile's shape alone
//	Closing    the two crowns that are measured once more at the end; Agrees judges each
//	Question   is one of the last five crowns far from what all others say of it
//	Pair       the crowns that answer a question when they are measured again; Judge says what they tell
//
// Heights, places and uncertainties are in mm. Everything holds on necks whose frets fan out as well: each track brings its own places.
package laying

import (
	"errors"
	"fmt"
	"math"
)

// Errors of this package; each comes wrapped with what was found and what is expected.
var (
	ErrNeck         = errors.New("geometry of the neck not usable")
	ErrCrown        = errors.New("crown not usable")
	ErrUndetermined = errors.New("links do not determine the carrying")
)

// Neck is the geometry that crowns are measured on.
type Neck struct {
	Scale               float64   // L, mm; of unequal outer strings their mean
	Datum, Relief, Last int       // frets a and k of relief (1 and 7 unless told otherwise) and the last fret N; a < k < b <= N
	Joint               int       // fret b, where the neck meets the body
	Centre              []float64 // place on the centre line, mm, of fret n at n and of the nut at 0; N+1 of them
	Tracks              []Track
}

// Track is a line that the gauge follows along the neck: where it crosses the nut, at 0, and each fret n, at n; N+1 places each.
type Track struct {
	X []float64 // mm from the nut towards the saddle, rising
	Y []float64 // mm across, positive towards the treble side; Y[0] is y_nut
}

// Crown is the height of one crown.
type Crown struct {
	Track int     // from 0, as in Neck.Tracks
	Fret  int     // from 1
	Z     float64 // mm, developed (the board's radius taken out), positive towards the strings
}

// check refuses geometry that nothing can be computed with.
func (n *Neck) check() error {
	if !(n.Scale > 0) || math.IsInf(n.Scale, 0) {
		return fmt.Errorf("%w: the scale is %v mm, expected more than 0", ErrNeck, n.Scale)
	}
	if n.Datum < 1 || n.Relief <= n.Datum || n.Joint <= n.Relief || n.Last < n.Joint {
		return fmt.Errorf("%w: datum fret %d, relief at fret %d, joint at fret %d, last fret %d; expected 1 <= datum < relief < joint <= last",
			ErrNeck, n.Datum, n.Relief, n.Joint, n.Last)
	}
	if err := n.checkPlaces("the centre line", n.Centre, true); err != nil {
		return err
	}
	for i, t := range n.Tracks {
		name := fmt.Sprintf("track %d", i)
		if err := n.checkPlaces(name+", X", t.X, true); err != nil {
			return err
		}
		if err := n.checkPlaces(name+", Y", t.Y, false); err != nil {
			return err
		}
	}
	return nil
}

// checkPlaces refuses places that are not N+1 finite numbers, or do not rise where they must.
func (n *Neck) checkPlaces(what string, places []float64, rising bool) error {
	if len(places) != n.Last+1 {
		return fmt.Errorf("%w: %s has %d places, expected %d: the nut's and those of %d frets", ErrNeck, what, len(places), n.Last+1, n.Last)
	}
	for i, v := range places {
		if math.IsNaN(v) || math.IsInf(v, 0) || rising && i > 0 && v <= places[i-1] {
			return fmt.Errorf("%w: %s is %v mm at fret %d, expected finite numbers, along the neck rising", ErrNeck, what, v, i)
		}
	}
	return nil
}

// checkUncertainty refuses an uncertainty of a reading that nothing can be tested with.
func checkUncertainty(u float64) error {
	if !(u > 0) || math.IsInf(u, 0) {
		return fmt.Errorf("%w: the uncertainty of a reading is %v mm, expected more than 0", ErrCrown, u)
	}
	return nil
}

// grid returns the heights by track and fret, NaN where there is none. It refuses an unusable neck or crown, and a crown that comes
// twice.
func (n *Neck) grid(crowns []Crown) ([][]float64, error) {
	if err := n.check(); err != nil {
		return nil, err
	}
	all := make([]float64, len(n.Tracks)*(n.Last+1))
	for i := range all {
		all[i] = math.NaN()
	}
	z := make([][]float64, len(n.Tracks))
	for t := range z {
		z[t] = all[t*(n.Last+1) : (t+1)*(n.Last+1)]
	}
	for _, c := range crowns {
		if c.Track < 0 || c.Track >= len(n.Tracks) || c.Fret < 1 || c.Fret > n.Last {
			return nil, fmt.Errorf("%w: track %d, fret %d; expected tracks 0 to %d and frets 1 to %d", ErrCrown, c.Track, c.Fret,
				len(n.Tracks)-1, n.Last)
		}
		if math.IsNaN(c.Z) || math.Abs(c.Z) > mostHeight {
			return nil, fmt.Errorf("%w: track %d, fret %d, has the height %v mm; expected a number within %v", ErrCrown, c.Track, c.Fret, c.Z,
				float64(mostHeight))
		}
		if !math.IsNaN(z[c.Track][c.Fret]) {
			return nil, fmt.Errorf("%w: track %d, fret %d comes twice; give the reading that counts", ErrCrown, c.Track, c.Fret)
		}
		z[c.Track][c.Fret] = c.Z
	}
	return z, nil
}

// mostHeight, mm, is far beyond any gauge's travel and small enough that a square loses nothing.
const mostHeight = 1e6
