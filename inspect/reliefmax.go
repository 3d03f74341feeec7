package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

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

// reliefMaxima adds the largest relief of every track, at the fret where it is found.
func (e *evaluation) reliefMaxima() error {
	for _, t := range e.tracks {
		v, fret := t.reliefExtreme(t.z, 1)
		if fret == 0 {
			continue
		}
		u, err := t.propagate(func(z []float64, _ *fit.Bend) float64 { v, _ := t.reliefExtreme(z, 1); return v })
		if err != nil {
			return err
		}
		e.add(Characteristic{Name: ReliefMax, Track: t.name, Fret: fret, Datum: &[2]int{e.a, e.b}}, v, u)
	}
	return nil
}

// datumCrowns adds a track's crowns from one datum fret to the other.
func (p *points) datumCrowns(c *Characteristic) {
	p.crowns(c.Track, p.spec.Datum.FirstFret, p.spec.Datum.SecondFret)
}

// datumIncomplete reports a crown between the datum frets that was not measured.
func (n *neck) datumIncomplete(c *Characteristic) bool { return n.track(c.Track).missing(n.a, n.b) }

func (n *neck) workReliefMax(w *workings, c *Characteristic) error {
	n.track(c.Track).workChord(w, c.Fret)
	return nil
}
