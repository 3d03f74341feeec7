package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// extension is the height of fret n beyond b above the bend curve's tangent at fret b produced; NaN where not measured
// or not defined.
func (t *track) extension(z []float64, bend *fit.Bend, n int) float64 {
	if bend == nil || n <= t.b {
		return math.NaN()
	}
	return z[n-1] - t.tangent(bend, t.x[n-1])
}

// tangent is the bend curve's tangent at fret b, produced to x.
func (t *track) tangent(bend *fit.Bend, x float64) float64 {
	ub := t.x[t.b-1] / t.fan.ScaleMM
	return bend.At(ub) + bend.Slope(ub)*(x/t.fan.ScaleMM-ub)
}

// hump is the greatest height above the produced tangent, 0 when the extension falls away everywhere; NaN without one.
func (t *track) hump(z []float64, bend *fit.Bend) float64 {
	most := math.NaN()
	for n := t.b + 1; n <= len(z); n++ {
		if d := t.extension(z, bend, n); !math.IsNaN(d) && !(most >= d) {
			most = max(d, 0)
		}
	}
	return most
}

// humps adds the hump of every track.
func (e *evaluation) humps() error {
	return e.atFrets(Hump, 0, 0, func(t *track, z []float64, bend *fit.Bend, _ int) float64 { return t.hump(z, bend) })
}

// extension adds the crowns that fix the tangent and those beyond it.
func (p *points) extension(c *Characteristic) {
	b := p.spec.Datum.SecondFret
	p.crowns(c.Track, 1, b)
	p.crowns(c.Track, b+1, p.spec.Neck.Frets)
}

// extensionIncomplete reports a crown beyond fret b that was not measured.
func (n *neck) extensionIncomplete(c *Characteristic) bool {
	return n.track(c.Track).missing(n.b+1, n.frets)
}

// dressHump brings the crowns beyond fret b down to the tangent.
func (n *neck) dressHump(r *Readings, c *Characteristic) {
	t := n.track(c.Track)
	for fret := n.b + 1; fret <= n.frets; fret++ {
		if above := t.extension(t.z, t.bend, fret); above > 0 {
			n.lower(r, t.name, fret, above)
		}
	}
}

func (n *neck) workHump(w *workings, c *Characteristic) error {
	t := n.track(c.Track)
	highest := len(t.x)
	for f := t.b + 1; f <= len(t.x); f++ {
		if d := t.extension(t.z, t.bend, f); !(t.extension(t.z, t.bend, highest) >= d) && !math.IsNaN(d) {
			highest = f
		}
	}
	t.workExtension(w, highest)
	return nil
}

// workExtension adds the tangent and the crown of a fret beyond it.
func (t *track) workExtension(w *workings, fret int) {
	t.workBend(w)
	ub := t.x[t.b-1] / t.fan.ScaleMM
	w.add("mm", t.bend.At(ub), "bend curve at fret %d", t.b)
	w.add("mm", t.bend.Slope(ub), "its slope there, to the scale length")
	w.add("mm", t.z[fret-1], "%s", t.crownName(fret))
	w.add("mm", t.z[fret-1]-t.extension(t.z, t.bend, fret), "tangent produced to fret %d", fret)
}
