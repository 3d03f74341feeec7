package inspect

import (
	"math"

	"sagitta/inspect/fit"
	"sagitta/inspect/zone"
)

// straightness returns the minimum zone about a line of a track's crowns (ISO 12780-1) and the parameters about the
// least-squares line. Ok is false below three crowns.
func (t *track) straightness() (v, u float64, ls fit.Parameters, ok bool, err error) {
	var x, z, uz []float64
	for i, h := range t.z {
		if !math.IsNaN(h) {
			x, z, uz = append(x, t.x[i]), append(z, h), append(uz, t.uz[i])
		}
	}
	if len(z) < 3 {
		return 0, 0, ls, false, nil
	}
	m, ls, err := zone.Straightness(x, z)
	if err != nil || t.quick {
		return m.Zone, 0, ls, true, err
	}
	solver, err := zone.NewSolver(rowsOf(x))
	if err != nil {
		return 0, 0, ls, false, err
	}
	u, err = solver.Uncertainty(z, uz)
	return m.Zone, u, ls, true, err
}

// straightnesses adds the straightness of every track.
func (e *evaluation) straightnesses() error {
	for _, t := range e.tracks {
		v, u, ls, ok, err := t.straightness()
		if err != nil {
			return err
		}
		if ok {
			e.add(Characteristic{Name: Straightness, Track: t.name, LeastSquares: &ls}, v, u)
		}
	}
	return nil
}

// trackCrowns adds every crown of a track.
func (p *points) trackCrowns(c *Characteristic) { p.crowns(c.Track, 1, p.spec.Neck.Frets) }

// trackIncomplete reports a crown of the track that was not measured.
func (n *neck) trackIncomplete(c *Characteristic) bool { return !n.track(c.Track).complete }

func (n *neck) workStraightness(w *workings, c *Characteristic) error {
	t := n.track(c.Track)
	var x, z []float64
	var names []string
	for i, h := range t.z {
		if !math.IsNaN(h) {
			x, z, names = append(x, t.x[i]), append(z, h), append(names, t.crownName(i+1))
		}
	}
	m, ls, err := zone.Straightness(x, z)
	if err == nil {
		w.zone(m, &ls, []string{"1", "x"}, names)
	}
	return err
}
