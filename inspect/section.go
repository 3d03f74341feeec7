package inspect

import (
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// onPlace is how far, mm, two places along the neck may differ and still be one: rounding only.
const onPlace = 1e-9

// A cross-section is square to the centre line, at the centre line's place X_n of a fret. Where a track has the fret at another
// place its crown is carried there along the track's own bend curve: along a slanted fret, relief would pass for twist (definition).

// slanted reports that the track has fret n at another place than the centre line.
func (t *track) slanted(n int) bool { return math.Abs(t.line.At(n)-t.fan.Centre.At(n)) > onPlace }

// carried is the height of the track's crown of fret n in the cross-section of the fret: z_n + B(X_n) - B(x_n), B the bend curve and
// beyond fret b its tangent there. NaN where not measured, or slanted and without a bend curve.
func (t *track) carried(z []float64, bend *fit.Bend, n int) float64 {
	if !t.slanted(n) {
		return z[n-1]
	}
	if bend == nil {
		return math.NaN()
	}
	return z[n-1] + t.produced(bend, t.fan.Centre.At(n)) - t.produced(bend, t.x[n-1])
}

// produced is the bend curve at x, beyond fret b its tangent there.
func (t *track) produced(bend *fit.Bend, x float64) float64 {
	if x > t.x[t.b-1] {
		return t.tangent(bend, x)
	}
	return bend.At(x / t.fan.ScaleMM)
}

// section is the track's place in the cross-section of fret n: y across the board, and what developing adds there.
func (t *track) section(n int) (y, sagitta float64) {
	if !t.slanted(n) {
		return t.y[n-1], t.sagitta[n-1]
	}
	x := t.fan.Centre.At(n)
	y = t.line.YAt(x)
	return y, Developed(0, y, t.fan.Radius(x))
}

// carriedWords says of a slanted fret's crown that it was carried, "" of another.
func (t *track) carriedWords(n int) string {
	if t.slanted(n) {
		return "carried along the bend curve, "
	}
	return ""
}

// crownsAcross returns the crowns of tracks carried to the cross-sections of frets, the frets of the first track before those of the
// second.
func crownsAcross(tracks []*track, frets ...int) []float64 {
	q := make([]float64, 0, len(tracks)*len(frets))
	for _, t := range tracks {
		for _, n := range frets {
			q = append(q, t.carried(t.z, t.bend, n))
		}
	}
	return q
}

// propagateAcross returns the standard uncertainty of f, a function of crownsAcross of the tracks and frets: every crown that they
// rest on is an input, those of the bend curves with them (see propagate). An error is f's.
func propagateAcross(f func(q []float64) (float64, error), tracks []*track, frets ...int) (u float64, err error) {
	q := crownsAcross(tracks, frets...)
	v, err := f(q)
	for i, t := range tracks {
		own := q[i*len(frets) : (i+1)*len(frets)]
		kept := slices.Clone(own)
		part, bad := t.propagate(func(z []float64, bend *fit.Bend) float64 {
			for j, n := range frets {
				own[j] = t.carried(z, bend, n)
			}
			if err != nil || slices.Equal(own, kept) {
				return v
			}
			var moved float64
			moved, err = f(q)
			return moved
		})
		copy(own, kept)
		if bad != nil {
			return 0, bad
		}
		u = math.Hypot(u, part)
	}
	return u, err
}
