package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// reliefAt is the height of the chord between (xa, za) and (xb, zb) above (xk, zk): positive for a forward bow (definition).
func reliefAt(xa, xk, xb, za, zk, zb float64) float64 {
	return za + (zb-za)*(xk-xa)/(xb-xa) - zk
}

// relief is the track's relief at fret n of heights z; NaN where not measured.
func (t *track) relief(z []float64, n int) float64 {
	return reliefAt(t.x[t.a-1], t.x[n-1], t.x[t.b-1], z[t.a-1], z[n-1], z[t.b-1])
}

// reliefExtreme returns the largest (sign 1) or smallest (sign -1) relief between the datum frets and its fret, fret 0
// when none was measured there.
func (t *track) reliefExtreme(z []float64, sign float64) (value float64, fret int) {
	for n := t.a + 1; n < t.b; n++ {
		v := t.relief(z, n)
		if !math.IsNaN(v) && (fret == 0 || sign*v > sign*value) {
			value, fret = v, n
		}
	}
	return value, fret
}

// reliefOf returns the relief at fret k by the best method that was used on a track: profile, beam, leaves. Ok is false
// when none was.
func (n *neck) reliefOf(name string) (c Characteristic, ok bool, err error) {
	c = Characteristic{Name: relief, Track: name, Fret: n.k, Unit: "mm", Datum: &[2]int{n.a, n.b}}
	if t := n.track(name); t != nil {
		if v := t.relief(t.z, n.k); !math.IsNaN(v) {
			u, err := t.propagate(func(z []float64, _ *fit.Bend) float64 { return t.relief(z, n.k) })
			c.Value, c.U, c.Method = &v, &u, "profile"
			return c, true, err
		}
	}
	for i := range n.readings.Beam {
		if b := &n.readings.Beam[i]; b.Track == name {
			v := beamRelief(n.spec, b)
			u := n.own(b.UMM) * beamFactor(n.spec, b)
			c.Value, c.U, c.Method = &v, &u, "beam"
			return c, true, nil
		}
	}
	for i := range n.readings.Leaves {
		if l := &n.readings.Leaves[i]; l.Track == name && l.Fret == n.k {
			c.Method = "leaves"
			c.Value, c.U = l.value()
			c.IntervalMM = &[2]*float64{l.PassesMM, l.StopsMM}
			return c, true, nil
		}
	}
	return c, false, nil
}

// beamFactor is what a beam's reading is multiplied by: for the same uniform curvature a sagitta grows as the product of
// its distances to the ends of the span, (x_k - x_a)(x_b - x_k) / ((m - p)(q - m)) (definition).
func beamFactor(s *Spec, b *BeamReading) float64 {
	x := func(n int) float64 { return FretX(s.Neck.ScaleMM, n) }
	d := s.Datum
	return (x(d.ReliefFret) - x(d.FirstFret)) * (x(d.SecondFret) - x(d.ReliefFret)) /
		((b.PlungerMM - b.FeetMM[0]) * (b.FeetMM[1] - b.PlungerMM))
}

// beamRelief converts a two-foot beam's reading to relief over the datum.
func beamRelief(s *Spec, b *BeamReading) float64 { return b.ReadingMM * beamFactor(s, b) }

// value returns a leaf interval's midpoint and its standard uncertainty, width/sqrt(12) unless the reading brings its own
// (a rectangle: JCGM 100:2008, 4.3.7); nil where an end is open.
func (l *LeafReading) value() (value, u *float64) {
	if l.PassesMM == nil || l.StopsMM == nil {
		return nil, nil
	}
	v := (*l.PassesMM + *l.StopsMM) / 2
	w := (*l.StopsMM - *l.PassesMM) / math.Sqrt(12)
	if l.UMM != nil {
		w = *l.UMM
	}
	return &v, &w
}

// LeafZone places the interval between the thickest leaf that passes and the thinnest that stops against limits, any of
// them nil where absent, mm: conforming when the whole interval lies within the limits, nonconforming when it lies outside
// them, else undecided and another leaf is needed. What stops at the lower limit is below it and what passes at the upper
// limit still conforms (definition).
func LeafZone(passes, stops, lower, upper *float64) Zone {
	switch {
	case lower == nil && upper == nil:
		return NoLimit
	case stops != nil && lower != nil && *stops <= *lower, passes != nil && upper != nil && *passes > *upper:
		return Nonconforming
	case (lower == nil || passes != nil && *passes >= *lower) && (upper == nil || stops != nil && *stops <= *upper):
		return Conforming
	}
	return Undecided
}

// sideDifference returns relief on the bass side less relief on the treble side, from profiles only.
func (n *neck) sideDifference() (v, u float64, ok bool, err error) {
	if n.low == nil {
		return 0, 0, false, nil
	}
	v = n.low.relief(n.low.z, n.k) - n.high.relief(n.high.z, n.k)
	if math.IsNaN(v) {
		return 0, 0, false, nil
	}
	for _, t := range []*track{n.low, n.high} {
		ut, err := t.propagate(func(z []float64, _ *fit.Bend) float64 { return t.relief(z, n.k) })
		if err != nil {
			return 0, 0, false, err
		}
		u = math.Hypot(u, ut)
	}
	return v, u, true, nil
}
