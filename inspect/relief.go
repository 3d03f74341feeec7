package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// The ways to a relief.
const (
	ByProfile = "profile"
	ByBeam    = "beam"
	ByLeaves  = "leaves"
)

// reliefAt is the height of the chord between (xa, za) and (xb, zb) above (xk, zk): positive for a forward bow (definition).
func reliefAt(xa, xk, xb, za, zk, zb float64) float64 {
	return za + (zb-za)*(xk-xa)/(xb-xa) - zk
}

// relief is the track's relief at fret n of heights z; NaN where not measured.
func (t *track) relief(z []float64, n int) float64 {
	return reliefAt(t.x[t.a-1], t.x[n-1], t.x[t.b-1], z[t.a-1], z[n-1], z[t.b-1])
}

// reliefOf returns the relief at fret k by the best method that was used on a track: profile, beam, leaves. Ok is false
// when none was.
func (n *neck) reliefOf(name string) (c Characteristic, ok bool, err error) {
	c = Characteristic{Name: Relief, Track: name, Fret: n.k, Unit: "mm", Datum: &[2]int{n.a, n.b}}
	if t := n.track(name); t != nil {
		if v := t.relief(t.z, n.k); !math.IsNaN(v) {
			u, err := t.propagate(func(z []float64, _ *fit.Bend) float64 { return t.relief(z, n.k) })
			c.Value, c.U, c.Method = &v, &u, ByProfile
			return c, true, err
		}
	}
	for i := range n.readings.Beam {
		if b := &n.readings.Beam[i]; b.Track == name {
			factor := n.spec.beamFactor(n.lineOf(name), b)
			v, u := b.ReadingMM*factor, n.own(b.UMM)*factor
			c.Value, c.U, c.Method = &v, &u, ByBeam
			return c, true, nil
		}
	}
	for i := range n.readings.Leaves {
		if l := &n.readings.Leaves[i]; l.Track == name && l.Fret == n.k {
			c.Method = ByLeaves
			c.Value, c.U = l.value()
			c.IntervalMM = &[2]*float64{l.PassesMM, l.StopsMM}
			return c, true, nil
		}
	}
	return c, false, nil
}

// beamFactor is what a beam's reading on a line is multiplied by to be relief over the datum: for the same uniform curvature a
// sagitta grows as the product of its distances to the ends of the span, (x_k - x_a)(x_b - x_k) / ((m - p)(q - m)) (definition).
func (s *Spec) beamFactor(l Line, b *BeamReading) float64 {
	return 2 * s.reliefPerCurvature(l, s.Datum.ReliefFret) / ((b.PlungerMM - b.FeetMM[0]) * (b.FeetMM[1] - b.PlungerMM))
}

// reliefPerCurvature is the relief at a fret of a line bent with a uniform curvature of 1/mm: (x_k - x_a)(x_b - x_k)/2 (definition).
func (s *Spec) reliefPerCurvature(l Line, fret int) float64 {
	return (l.At(fret) - l.At(s.Datum.FirstFret)) * (l.At(s.Datum.SecondFret) - l.At(fret)) / 2
}

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

// reliefs adds the relief of every track that was read.
func (e *evaluation) reliefs() error {
	for _, name := range e.readTracks() {
		c, ok, err := e.reliefOf(name)
		if err != nil {
			return err
		}
		if ok {
			if e.quick {
				c.U = nil
			}
			e.rows = append(e.rows, c)
		}
	}
	return nil
}

// relief adds what a relief's method measures: the profile's crowns without a method.
func (p *points) relief(c *Characteristic) {
	d := p.spec.Datum
	switch {
	case c.Method == ByBeam || c.Method == "" && p.profileOf("beam"):
		p.add(PointRef{Kind: PointBeam, Track: c.Track, Fret: d.ReliefFret})
	case c.Method == ByLeaves || c.Method == "" && p.profileOf("leaves"):
		p.add(PointRef{Kind: PointLeafPasses, Track: c.Track, Fret: d.ReliefFret})
		p.add(PointRef{Kind: PointLeafStops, Track: c.Track, Fret: d.ReliefFret})
	default:
		p.crown(c.Track, d.FirstFret, d.ReliefFret, d.SecondFret)
	}
}

// profileOf reports that the routine takes relief that way.
func (p *points) profileOf(way string) bool {
	return p.spec.Routine != nil && p.spec.Routine.Profile == way
}

// workChord adds what a relief at a fret is made of.
func (t *track) workChord(w *workings, fret int) {
	xa, xk, xb := t.x[t.a-1], t.x[fret-1], t.x[t.b-1]
	for _, f := range [3]int{t.a, fret, t.b} {
		w.add("mm", t.x[f-1], "x of fret %d", f)
	}
	for _, f := range [3]int{t.a, fret, t.b} {
		w.add("mm", t.z[f-1], "%s", t.crownName(f))
	}
	w.add("mm", t.z[t.a-1]+(t.z[t.b-1]-t.z[t.a-1])*(xk-xa)/(xb-xa), "chord over fret %d", fret)
}

// workRelief adds what a relief is made of by the method that gave it.
func (n *neck) workRelief(w *workings, c *Characteristic) error {
	switch c.Method {
	case ByProfile:
		n.track(c.Track).workChord(w, n.k)
	case ByBeam:
		for i := range n.readings.Beam {
			b := &n.readings.Beam[i]
			if b.Track != c.Track {
				continue
			}
			w.add("mm", b.FeetMM[0], "first foot at")
			w.add("mm", b.PlungerMM, "plunger at")
			w.add("mm", b.FeetMM[1], "second foot at")
			w.add("mm", b.ReadingMM, "reading")
			w.add("", n.spec.beamFactor(n.lineOf(c.Track), b), "factor (x_k - x_a)(x_b - x_k)/((m - p)(q - m))")
		}
	case ByLeaves:
		if p := c.IntervalMM[0]; p != nil {
			w.add("mm", *p, "thickest leaf that passes")
		}
		if s := c.IntervalMM[1]; s != nil {
			w.add("mm", *s, "thinnest leaf that stops")
		}
	}
	return nil
}
