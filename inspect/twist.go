package inspect

import (
	"errors"
	"math"
)

// twist returns the cross-slope at fret b less that at fret a, degrees, right-handed about +x, from developed heights of
// the outer tracks. Ok is false when one of the four crowns was not measured.
func (n *neck) twist() (v, u float64, ok bool, err error) {
	low, high := n.low, n.high
	if low == nil || !low.measured(n.a) || !low.measured(n.b) || !high.measured(n.a) || !high.measured(n.b) {
		return 0, 0, false, nil
	}
	a, b := n.a-1, n.b-1
	if high.y[a] == low.y[a] || high.y[b] == low.y[b] {
		return 0, 0, false, nil
	}
	slope := func(i int, zLow, zHigh float64) float64 {
		return math.Atan((zHigh+high.sagitta[i]-zLow-low.sagitta[i])/(high.y[i]-low.y[i])) * 180 / math.Pi
	}
	f := func(q []float64) (float64, error) { return slope(b, q[2], q[3]) - slope(a, q[0], q[1]), nil }
	q := []float64{low.z[a], high.z[a], low.z[b], high.z[b]}
	v, _ = f(q)
	if !n.quick {
		u, err = Propagate(f, q, []float64{low.uz[a], high.uz[a], low.uz[b], high.uz[b]})
	}
	return v, u, true, err
}

// boardRadius returns the radius of the geometric least-squares circle through the crowns of one fret. Ok is false below
// three tracks there, and where the crowns show no radius.
func (n *neck) boardRadius(fret int) (v, u float64, ok bool, err error) {
	const some = 8
	y, z, uz := make([]float64, 0, some), make([]float64, 0, some), make([]float64, 0, some)
	for _, t := range n.tracks {
		if t.measured(fret) {
			y, z, uz = append(y, t.y[fret-1]), append(z, t.z[fret-1]), append(uz, t.uz[fret-1])
		}
	}
	if len(z) < 3 {
		return 0, 0, false, nil
	}
	f := func(q []float64) (float64, error) {
		if len(q) == 3 {
			return circleThrough(y, q) // the circle with no distances left, without a search
		}
		return CircleRadius(y, q)
	}
	v, err = f(z)
	if err == nil && !n.quick {
		u, err = Propagate(f, z, uz)
	}
	switch {
	case errors.Is(err, ErrFlat), errors.Is(err, ErrDegenerate), errors.Is(err, ErrNotFinite), errors.Is(err, ErrNotConverged):
		return 0, 0, false, nil // nearly flat: no radius, or none whose uncertainty has a meaning
	}
	return v, u, err == nil, err
}

// circleThrough returns the radius of the circle through three points, positive when the middle one lies above the chord
// of the others: the product of the sides over four times the triangle's area. Errors: ErrFlat, ErrDegenerate.
func circleThrough(y, z []float64) (float64, error) {
	y1, z1, y2, z2 := y[1]-y[0], z[1]-z[0], y[2]-y[0], z[2]-z[0]
	cross := y2*z1 - y1*z2
	if (y2-y1)*y1*y2 < 0 || y1 == 0 || y2 == 0 || y1 == y2 {
		return CircleRadius(y, z) // not in order across the board
	}
	sides := math.Hypot(y1, z1) * math.Hypot(y2, z2) * math.Hypot(y2-y1, z2-z1)
	if math.Abs(cross) <= 16*epsilon*(math.Abs(y2*z1)+math.Abs(y1*z2)) {
		return 0, ErrFlat
	}
	radius := sides / (2 * cross)
	return radius, checkNumbers("radius", []float64{radius})
}
