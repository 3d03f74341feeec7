package inspect

import "math"

// FretX returns the distance from the nut's front edge to fret n, in the unit of the scale length:
// L (1 - 2^(-n/12)), twelve-tone equal temperament. Fret 0 is the nut, fret 12 stands at half the scale.
func FretX(scaleMM float64, n int) float64 { return fretX(scaleMM, float64(n)) }

// fretX is FretX for a fret that may be a fraction.
func fretX(scaleMM, n float64) float64 {
	return -scaleMM * math.Expm1(-n/12*math.Ln2)
}

// TrackY returns the place across the board, mm, of a straight track at x mm from the nut: yNut at x = 0,
// ySaddle at x = scaleMM. A scale of 0 gives yNut.
func TrackY(yNut, ySaddle, scaleMM, x float64) float64 {
	if scaleMM == 0 {
		return yNut
	}
	return yNut + (ySaddle-yNut)*x/scaleMM
}

// Sagitta returns the height of a circular arc of the given radius over its chord, R - sqrt(R^2 - c^2/4), in the unit of
// its arguments. It is computed as (c^2/4) / (R + sqrt(R^2 - c^2/4)), which keeps every digit when R is large.
// A negative radius gives a negative sagitta, a radius of 0 means flat and gives 0. A chord longer than the diameter
// is no chord; it is taken as the diameter, so callers who need to know compare it with 2 |R| first.
func Sagitta(radiusMM, chordMM float64) float64 {
	r, half := math.Abs(radiusMM), math.Abs(chordMM)/2
	if r == 0 || half == 0 {
		return 0
	}
	half = math.Min(half, r)
	t := half / r
	return math.Copysign(half*t/(1+math.Sqrt((1-t)*(1+t))), radiusMM)
}

// Developed returns the height z of a crown at y across the board with the board's nominal radius taken out,
// z + R - sqrt(R^2 - y^2), mm, keeping its digits when R is large. A radius of 0 means a flat board and gives z; a
// negative one is a hollow board. Where |y| exceeds |R| the radius has no height; y is then taken as |R|, so callers
// check the specification (half the board's width below its radius) first.
func Developed(z, y, radiusMM float64) float64 {
	return z + Sagitta(radiusMM, 2*y)
}

// NominalRadius returns the nominal radius of the board, mm, at x mm from the nut: linear in x from nutRadius at x = 0 to
// lastRadius at x = last, the place of the last fret on the centre line, continued at the same rate beyond. A radius of 0 means
// flat: both 0 give 0 everywhere; where only one end is flat the curvature 1/R is linear instead, since a flat end has no radius.
func NominalRadius(nutRadius, lastRadius, last, x float64) float64 {
	if nutRadius == lastRadius || last == 0 {
		return nutRadius
	}
	t := x / last
	var curvature float64
	switch {
	case nutRadius == 0:
		curvature = t / lastRadius
	case lastRadius == 0:
		curvature = (1 - t) / nutRadius
	default:
		return nutRadius + (lastRadius-nutRadius)*t
	}
	if curvature == 0 {
		return 0
	}
	return 1 / curvature
}
