// Package simulate makes instruments whose true geometry is known, and gauges that measure them: bytes on
// pseudo-terminals, opened and decoded like those of real gauges. It shares no code with what measures or judges, so
// that a result can be held against the truth.
package simulate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// Track is a line along the neck: its y at the nut and at the saddle, mm from the centre line, positive to the treble.
type Track struct{ YNutMM, YSaddleMM float64 }

// String is one string of a neck. Heights are to its underside.
type String struct {
	Track
	Number   int
	SlotMM   float64 // height in the nut slot above the crowns' surface produced to the nut; moves with the neck
	SaddleMM float64 // height at the saddle above the unbent surface there; the body does not bend
	Cents    float64 // pitch against its target
}

// CrownError is how far one fret's crown stands above (positive) or below the smooth surface, mm, under the outermost
// string of each side; linear in y between and beyond.
type CrownError struct{ BassMM, TrebleMM float64 }

// Neck is a simulated instrument. Its shape is that of a neck clamped square at the body joint's place on the centre line: before
// it it is bent, after it the surface runs on straight along its tangent, but for a fall-away or a hump. Every height is computed from
// this geometry when it is asked for; none is stored. A Neck is not safe for concurrent use.
type Neck struct {
	Serial             string
	ScaleMM            float64 // of a fanned neck the mean of the next two
	ScaleBassMM        float64 // under the outermost strings
	ScaleTrebleMM      float64
	PerpendicularFret  float64 // square to the centre line on a fanned neck
	Frets              int
	JointFret          int
	NutRadiusMM        float64      // of the board at x = 0; 0 is flat
	LastFretRadiusMM   float64      // at the last fret; linear between and beyond
	ReliefFret         int          // where relief is meant by Bow and TurnRod
	TargetReliefMM     float64      // mean relief to which a repairer straightens
	CurvaturePerMM     float64      // uniform, before the joint; positive is forward bow
	SShapeMM           float64      // curvature grows towards the nut and falls towards the joint by 8 SShapeMM / x_b^2
	SideCurvaturePerMM float64      // per mm of y: more bow towards the treble, without twist
	TwistDeg           float64      // cross-slope at the joint less that at fret 1
	FallAwayMM         float64      // at the last fret
	HumpMM             float64      // its top, between the joint and the last fret
	Crowns             []CrownError // one per fret, fret 1 first
	Strings            []String
	Rod                Rod

	work *rand.Rand // the scatter of what hands do
}

// copy is a neck of its own with the same shape.
func (n *Neck) copy() *Neck {
	c := *n
	c.Crowns, c.Strings = slices.Clone(n.Crowns), slices.Clone(n.Strings)
	return &c
}

// Errors of questions a neck has no answer to.
var (
	ErrNoFret   = errors.New("no such fret")
	ErrNoString = errors.New("no such string")
)

// Crown is the height of a fret's crown at y, mm, in the body's frame. NaN for a fret the neck does not have.
func (n *Neck) Crown(fret int, y float64) float64 {
	if fret < 1 || fret > n.Frets {
		return math.NaN()
	}
	x := n.fretAt(fret, y)
	return n.smooth(x, y) + n.crownError(fret, x, y)
}

// CrownOn is the height of a fret's crown on a track, mm.
func (n *Neck) CrownOn(t Track, fret int) float64 { return n.Crown(fret, n.Y(t, n.FretOn(t, fret))) }

// Surface is the height at any x, mm: the crowns' smooth surface and, linear between neighbouring frets, their errors.
func (n *Neck) Surface(x, y float64) float64 {
	z := n.smooth(x, y)
	for fret := 1; fret < n.Frets; fret++ {
		from, to := n.fretAt(fret, y), n.fretAt(fret+1, y)
		if x >= from && x <= to {
			t := (x - from) / (to - from)
			return z + (1-t)*n.crownError(fret, x, y) + t*n.crownError(fret+1, x, y)
		}
	}
	switch {
	case n.Frets == 0:
		return z
	case x < n.fretAt(1, y):
		return z + n.crownError(1, x, y)
	}
	return z + n.crownError(n.Frets, x, y)
}

// smooth is the surface without the crowns' errors.
func (n *Neck) smooth(x, y float64) float64 { return n.stem(x, y) + n.beyond(x) }

// stem is the bent neck and its straight continuation over the body; x_b is the joint's place on the centre line.
//
// Before the joint, with v = x_b - x: curvature c + s (2 v/x_b - 1) + q y integrated twice from height and slope 0 at the
// joint; the part in y less its chord from fret 1 to the joint, so that it turns nothing; then twist, and the radius.
func (n *Neck) stem(x, y float64) float64 {
	joint := n.FretX(n.JointFret)
	v, v1 := joint-x, joint-n.FretX(1)
	z := -n.drop(x, y) - y*math.Tan(n.TwistDeg*math.Pi/180)*v/v1
	if v <= 0 {
		return z + n.SideCurvaturePerMM*y*(-v*v1)/2
	}
	s := 8 * n.SShapeMM / (joint * joint)
	return z + n.CurvaturePerMM*v*v/2 + s*(v*v*v/(3*joint)-v*v/2) + n.SideCurvaturePerMM*y*(v*v-v*v1)/2
}

// beyond is what leaves the tangent after the joint: a fall-away growing with the square of the way, and a hump.
func (n *Neck) beyond(x float64) float64 {
	joint, last := n.FretX(n.JointFret), n.FretX(n.Frets)
	if x <= joint || last <= joint {
		return 0
	}
	t := (x - joint) / (last - joint)
	z := -n.FallAwayMM * t * t
	if t < 1 {
		s := math.Sin(math.Pi * t)
		z += n.HumpMM * s * s
	}
	return z
}

// drop is how far the surface at y lies below the centre line: R - sqrt(R^2 - y^2), in the form that keeps its digits.
func (n *Neck) drop(x, y float64) float64 {
	if n.NutRadiusMM == 0 || n.Frets == 0 {
		return 0
	}
	r := n.NutRadiusMM + (n.LastFretRadiusMM-n.NutRadiusMM)*x/n.FretX(n.Frets)
	return y * y / (r + math.Sqrt(r*r-y*y))
}

func (n *Neck) crownError(fret int, x, y float64) float64 {
	if fret > len(n.Crowns) {
		return 0
	}
	e := n.Crowns[fret-1]
	bass, treble := n.Outer()
	yb, yt := n.Y(bass, x), n.Y(treble, x)
	if yb == yt {
		return e.BassMM
	}
	return e.BassMM + (e.TrebleMM-e.BassMM)*(y-yb)/(yt-yb)
}

// Outer are the tracks under the outermost strings.
func (n *Neck) Outer() (bass, treble Track) {
	for i, s := range n.Strings {
		if i == 0 || s.YNutMM < bass.YNutMM {
			bass = s.Track
		}
		if i == 0 || s.YNutMM > treble.YNutMM {
			treble = s.Track
		}
	}
	return bass, treble
}

// TrackOf is the track under a string.
func (n *Neck) TrackOf(number int) (Track, error) {
	s, err := n.find(number)
	if err != nil {
		return Track{}, err
	}
	return s.Track, nil
}

func (n *Neck) find(number int) (*String, error) {
	for i := range n.Strings {
		if n.Strings[i].Number == number {
			return &n.Strings[i], nil
		}
	}
	return nil, fmt.Errorf("neck %s, string %d: %w", n.Serial, number, ErrNoString)
}

func (n *Neck) hasFret(fret int) error {
	if fret < 1 || fret > n.Frets {
		return fmt.Errorf("neck %s, fret %d of %d: %w", n.Serial, fret, n.Frets, ErrNoFret)
	}
	return nil
}
