package inspect

import (
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

// twists adds the twist.
func (e *evaluation) twists() error {
	v, u, ok, err := e.twist()
	if ok && err == nil {
		e.add(Characteristic{Name: Twist}, v, u)
	}
	return err
}

// twist adds the crowns of the datum frets on the outer tracks.
func (p *points) twist(*Characteristic) {
	for _, t := range p.spec.outerTracks() {
		p.crown(t, p.spec.Datum.FirstFret, p.spec.Datum.SecondFret)
	}
}

// untwist gives the board the cross-slope of fret b at fret a too, linear in x between and towards the nut.
func (n *neck) untwist(r *Readings, _ *Characteristic) {
	slope := func(i int) float64 {
		return (n.high.z[i] + n.high.sagitta[i] - n.low.z[i] - n.low.sagitta[i]) / (n.high.y[i] - n.low.y[i])
	}
	xa, xb := n.x[n.a-1], n.x[n.b-1]
	by := slope(n.b-1) - slope(n.a-1)
	n.reshape(r, 1, func(x, y float64) float64 { return by * y * max(xb-x, 0) / (xb - xa) })
}

// workTwist adds the cross-slopes and what they are made of.
func (n *neck) workTwist(w *workings, _ *Characteristic) error {
	for _, f := range [2]int{n.a, n.b} {
		for _, t := range [2]*track{n.low, n.high} {
			w.add("mm", t.y[f-1], "place across the board: %s, fret %d", Side(t.name), f)
			w.add("mm", t.z[f-1]+t.sagitta[f-1], "%s, developed", t.crownName(f))
		}
		rise := n.high.z[f-1] + n.high.sagitta[f-1] - n.low.z[f-1] - n.low.sagitta[f-1]
		w.add("deg", math.Atan(rise/(n.high.y[f-1]-n.low.y[f-1]))*180/math.Pi, "cross-slope at fret %d", f)
	}
	return nil
}
