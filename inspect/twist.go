package inspect

import "math"

// twist returns the cross-slope at fret b less that at fret a, degrees, right-handed about +x, from developed heights of
// the outer tracks. Ok is false when one of the four crowns was not measured.
func (n *neck) twist() (v, u float64, ok bool, err error) {
	if n.low == nil {
		return 0, 0, false, nil
	}
	a, b := n.across(n.a), n.across(n.b)
	f := func(q []float64) (float64, error) {
		return (math.Atan(b.slope(q[1], q[3])) - math.Atan(a.slope(q[0], q[2]))) * 180 / math.Pi, nil
	}
	outer := []*track{n.low, n.high}
	v, _ = f(crownsAcross(outer, n.a, n.b))
	if math.IsNaN(v) || a.width == 0 || b.width == 0 {
		return 0, 0, false, nil
	}
	if !n.quick {
		u, err = propagateAcross(f, outer, n.a, n.b)
	}
	return v, u, true, err
}

// across is the cross-section of a fret between the outer tracks: how far they are apart, and what developing adds to the rise.
type across struct{ width, rise float64 }

// across returns the cross-section of a fret between the outer tracks.
func (n *neck) across(fret int) across {
	yLow, low := n.low.section(fret)
	yHigh, high := n.high.section(fret)
	return across{yHigh - yLow, high - low}
}

// slope is the cross-slope of crowns carried there.
func (a across) slope(zLow, zHigh float64) float64 { return (zHigh - zLow + a.rise) / a.width }

// crossSlope is the developed board's cross-slope at a fret, from the outer tracks.
func (n *neck) crossSlope(fret int) float64 {
	return n.across(fret).slope(n.low.carried(n.low.z, n.low.bend, fret), n.high.carried(n.high.z, n.high.bend, fret))
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
	xa, xb := n.fan.Centre.At(n.a), n.fan.Centre.At(n.b)
	by := n.crossSlope(n.b) - n.crossSlope(n.a)
	n.reshape(r, 1, func(_ *Line, x, y float64) float64 { return by * y * max(xb-x, 0) / (xb - xa) })
}

// workTwist adds the cross-slopes and what they are made of.
func (n *neck) workTwist(w *workings, _ *Characteristic) error {
	for _, f := range [2]int{n.a, n.b} {
		for _, t := range [2]*track{n.low, n.high} {
			y, sagitta := t.section(f)
			w.add("mm", y, "place across the board: %s, fret %d", Side(t.name), f)
			w.add("mm", t.carried(t.z, t.bend, f)+sagitta, "%s, %sdeveloped", t.crownName(f), t.carriedWords(f))
		}
		w.add("deg", math.Atan(n.crossSlope(f))*180/math.Pi, "cross-slope at fret %d", f)
	}
	return nil
}
