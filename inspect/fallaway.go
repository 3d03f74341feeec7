package inspect

import "sagitta/inspect/fit"

// fallAway is how far the last fret lies below the produced tangent; NaN where not measured or not defined.
func (t *track) fallAway(z []float64, bend *fit.Bend) float64 {
	return -t.extension(z, bend, len(z))
}

// fallAways adds the fall-away of every track.
func (e *evaluation) fallAways() error {
	return e.atFrets(FallAway, 0, 0, func(t *track, z []float64, bend *fit.Bend, _ int) float64 { return t.fallAway(z, bend) })
}

// lastCrown adds the crowns that fix the tangent, and the last.
func (p *points) lastCrown(c *Characteristic) {
	p.crowns(c.Track, 1, p.spec.Datum.SecondFret)
	p.crown(c.Track, p.spec.Neck.Frets)
}

func (n *neck) workFallAway(w *workings, c *Characteristic) error {
	t := n.track(c.Track)
	t.workExtension(w, len(t.x))
	return nil
}
