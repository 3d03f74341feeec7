package simulate

import (
	"fmt"
	"math"
)

// Relief is the height of the chord over frets a and b above the crown of fret k, mm; positive is forward bow
// (definition).
func (n *Neck) Relief(t Track, a, b, k int) float64 {
	xa, xb, xk := n.FretOn(t, a), n.FretOn(t, b), n.FretOn(t, k)
	za, zb := n.CrownOn(t, a), n.CrownOn(t, b)
	return za + (zb-za)*(xk-xa)/(xb-xa) - n.CrownOn(t, k)
}

// Bow is the mean relief of the outer tracks at the relief fret, over fret 1 and the joint, mm.
func (n *Neck) Bow() float64 {
	bass, treble := n.Outer()
	return (n.Relief(bass, 1, n.JointFret, n.ReliefFret) + n.Relief(treble, 1, n.JointFret, n.ReliefFret)) / 2
}

// SideDifference is the relief of the outer bass track less that of the outer treble track, where Bow is taken, mm.
func (n *Neck) SideDifference() float64 {
	bass, treble := n.Outer()
	return n.Relief(bass, 1, n.JointFret, n.ReliefFret) - n.Relief(treble, 1, n.JointFret, n.ReliefFret)
}

// bend changes the uniform curvature so that Bow grows by mm. Over the datum frets a curvature c makes the relief
// c/2 (x_k - x_a)(x_b - x_k); where frets fan out its effect, which is proportional, is found by trying.
func (n *Neck) bend(mm float64) {
	if n.fanned() {
		const unit = 1e-5 // per mm
		was := n.Bow()
		n.CurvaturePerMM += unit
		n.CurvaturePerMM += unit * (mm/(n.Bow()-was) - 1)
		return
	}
	a, b, k := n.FretX(1), n.FretX(n.JointFret), n.FretX(n.ReliefFret)
	n.CurvaturePerMM += 2 * mm / ((k - a) * (b - k))
}

// Action is the height of a string's underside over the crown of a fret, mm: of the open string with held 0, otherwise
// held down at fret held, which lies before fret.
func (n *Neck) Action(number, fret, held int) (float64, error) {
	s, err := n.find(number)
	if err == nil {
		err = n.hasFret(fret)
	}
	if err != nil {
		return 0, err
	}
	if held < 0 || held >= fret {
		return 0, fmt.Errorf("neck %s: string %d pressed at fret %d cannot be measured over fret %d: press it nearer the nut", n.Serial, number, held, fret)
	}
	x0, end := n.NutX(s.Track), n.SaddleX(s.Track)
	z0 := n.smooth(x0, s.YNutMM) + s.SlotMM
	if held > 0 {
		x0, z0 = n.FretOn(s.Track, held), n.CrownOn(s.Track, held)
	}
	saddle := s.SaddleMM - n.drop(end, s.YSaddleMM)
	x := n.FretOn(s.Track, fret)
	return z0 + (saddle-z0)*(x-x0)/(end-x0) - n.CrownOn(s.Track, fret), nil
}

// NutHeight is the height of an open string's underside over fret 1, mm.
func (n *Neck) NutHeight(number int) (float64, error) { return n.Action(number, 1, 0) }

// BeamSagitta is what a beam shows that stands on a track with its feet at two places from the track's nut and its plunger between:
// the height of the chord over the feet above the surface at the plunger, mm; positive is forward bow.
func (n *Neck) BeamSagitta(t Track, feet [2]float64, plunger float64) float64 {
	nut := n.NutX(t)
	feet[0], feet[1], plunger = feet[0]+nut, feet[1]+nut, plunger+nut
	p, q := n.Surface(feet[0], n.Y(t, feet[0])), n.Surface(feet[1], n.Y(t, feet[1]))
	return p + (q-p)*(plunger-feet[0])/(feet[1]-feet[0]) - n.Surface(plunger, n.Y(t, plunger))
}

// Twist is the cross-slope between the outer tracks at the joint less that at fret 1, degrees, right-handed about +x
// (definition); the board's radius is taken out. The slopes are taken square to the centre line at its places of the frets: a slanted
// fret's crowns are carried there along the smooth surface.
func (n *Neck) Twist() float64 {
	bass, treble := n.Outer()
	slope := func(fret int) float64 {
		x := n.FretX(fret)
		yb, yt := n.Y(bass, x), n.Y(treble, x)
		z := func(t Track, y float64) float64 {
			own := n.FretOn(t, fret)
			return n.CrownOn(t, fret) + n.smooth(x, y) - n.smooth(own, n.Y(t, own)) + n.drop(x, y)
		}
		return math.Atan((z(treble, yt)-z(bass, yb))/(yt-yb)) * 180 / math.Pi
	}
	return slope(n.JointFret) - slope(1)
}

// Extension is how far the crown of a fret after the joint stands above the track's tangent at the joint, mm.
func (n *Neck) Extension(t Track, fret int) float64 {
	const step = 0.1 // mm; beyond the joint the stem is straight but for the radius under a spreading track
	joint := n.FretOn(t, n.JointFret)
	at := func(x float64) float64 { return n.stem(x, n.Y(t, x)) }
	slope := (-3*at(joint) + 4*at(joint+step) - at(joint+2*step)) / (2 * step)
	return n.CrownOn(t, fret) - (at(joint) + slope*(n.FretOn(t, fret)-joint))
}

// FallAway is the drop of the last fret below the track's tangent at the joint, mm; 0 without an extension.
func (n *Neck) FallAway(t Track) float64 {
	if n.Frets <= n.JointFret {
		return 0
	}
	return -n.Extension(t, n.Frets)
}

// Hump is the highest crown after the joint above the track's tangent, mm; never negative.
func (n *Neck) Hump(t Track) float64 {
	var most float64
	for fret := n.JointFret + 1; fret <= n.Frets; fret++ {
		most = max(most, n.Extension(t, fret))
	}
	return most
}

// Pitch is a string's pitch against its target, cents.
func (n *Neck) Pitch(number int) (float64, error) {
	s, err := n.find(number)
	if err != nil {
		return 0, err
	}
	return s.Cents, nil
}
