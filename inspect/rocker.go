package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// rocker is what a short straightedge over frets n-1, n and n+1 feels: the height of crown n above the line through its
// neighbours, minus what the bend curve contributes before fret b; NaN where not defined.
func (t *track) rocker(z []float64, bend *fit.Bend, n int) float64 {
	if n < 2 || n >= len(z) || n < t.b && bend == nil {
		return math.NaN()
	}
	x := t.x[n-2 : n+1]
	r := -reliefAt(x[0], x[1], x[2], z[n-2], z[n-1], z[n])
	if n < t.b {
		scale := t.fan.ScaleMM
		r += reliefAt(x[0], x[1], x[2], bend.At(x[0]/scale), bend.At(x[1]/scale), bend.At(x[2]/scale))
	}
	return r
}

// rockerFrets are those with a neighbour on either side.
func rockerFrets(s *Spec) (first, last int) { return 2, s.Neck.Frets - 1 }

// rockers adds the rocker of every fret with two neighbours.
func (e *evaluation) rockers() error { return e.atFrets(Rocker, 2, e.frets-1, (*track).rocker) }

func (n *neck) workRocker(w *workings, c *Characteristic) error {
	t, scale := n.track(c.Track), n.fan.ScaleMM
	t.workBend(w)
	for f := c.Fret - 1; f <= c.Fret+1; f++ {
		w.add("mm", t.z[f-1], "%s", t.crownName(f))
	}
	x := t.x[c.Fret-2 : c.Fret+1]
	w.add("mm", -reliefAt(x[0], x[1], x[2], t.z[c.Fret-2], t.z[c.Fret-1], t.z[c.Fret]), "crown above the line through its neighbours")
	if c.Fret < t.b {
		w.add("mm", -reliefAt(x[0], x[1], x[2], t.bend.At(x[0]/scale), t.bend.At(x[1]/scale), t.bend.At(x[2]/scale)), "what the bend curve contributes to it")
	}
	return nil
}
