package inspect

import (
	"errors"
	"math"

	"sagitta/inspect/fit"
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
		u, err = fit.Propagate(f, q, []float64{low.uz[a], high.uz[a], low.uz[b], high.uz[b]})
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
			return fit.CircleThrough(y, q) // the circle with no distances left, without a search
		}
		return fit.CircleRadius(y, q)
	}
	v, err = f(z)
	if err == nil && !n.quick {
		u, err = fit.Propagate(f, z, uz)
	}
	switch {
	case errors.Is(err, fit.ErrFlat), errors.Is(err, fit.ErrDegenerate), errors.Is(err, fit.ErrNotFinite), errors.Is(err, fit.ErrNotConverged):
		return 0, 0, false, nil // nearly flat: no radius, or none whose uncertainty has a meaning
	}
	return v, u, err == nil, err
}
