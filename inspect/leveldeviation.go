package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// level is the level deviation of fret n: its crown above the bend curve; NaN where not measured or not defined.
func (t *track) level(z []float64, bend *fit.Bend, n int) float64 {
	if bend == nil || n > t.b {
		return math.NaN()
	}
	return z[n-1] - bend.At(t.x[n-1]/t.fan.ScaleMM)
}

// levelFrets are the frets up to the joint: beyond it there is no bend curve.
func levelFrets(s *Spec) (first, last int) {
	if b := s.Datum.SecondFret; b != 0 {
		return 1, b
	}
	return 1, s.Neck.JointFret
}

// levelDeviations adds the level deviation of every fret up to b.
func (e *evaluation) levelDeviations() error {
	return e.atFrets(LevelDeviation, 1, e.b, (*track).level)
}

// atFrets adds a characteristic of single crowns on every track, from one fret to another.
func (e *evaluation) atFrets(name string, from, to int, f func(t *track, z []float64, bend *fit.Bend, fret int) float64) error {
	for _, t := range e.tracks {
		for n := from; n <= to; n++ {
			v := f(t, t.z, t.bend, n)
			if math.IsNaN(v) {
				continue
			}
			u, err := t.propagate(func(z []float64, bend *fit.Bend) float64 { return f(t, z, bend, n) })
			if err != nil {
				return err
			}
			e.add(Characteristic{Name: name, Track: t.name, Fret: n}, v, u)
		}
	}
	return nil
}

// neighbours adds a crown and those on either side: the bend curve's part is small and well determined, so that they decide.
func (p *points) neighbours(c *Characteristic) {
	p.crowns(c.Track, max(c.Fret-1, 1), min(c.Fret+1, p.spec.Neck.Frets))
}

// workBend adds the bend curve of a track.
func (t *track) workBend(w *workings) {
	if t.bend == nil {
		return
	}
	for i, v := range t.bend.C {
		w.add("mm", v, "bend curve, coefficient of u^%d", i)
	}
	w.add("", float64(t.bend.Within), "crowns within the threshold of 0.010 mm")
}

func (n *neck) workLevelDeviation(w *workings, c *Characteristic) error {
	t := n.track(c.Track)
	t.workBend(w)
	w.add("mm", t.z[c.Fret-1], "%s", t.crownName(c.Fret))
	w.add("mm", t.bend.At(t.x[c.Fret-1]/t.fan.ScaleMM), "bend curve at fret %d", c.Fret)
	return nil
}
