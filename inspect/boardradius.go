package inspect

import (
	"errors"

	"sagitta/inspect/fit"
)

// boardRadius returns the radius of the geometric least-squares circle through the crowns of one fret. Ok is false below
// three tracks there, and where the crowns show no radius.
func (n *neck) boardRadius(fret int) (v, u float64, ok bool, err error) {
	const some = 8
	y, z, uz := make([]float64, 0, some), make([]float64, 0, some), make([]float64, 0, some)
	for _, t := range n.tracks {
		if t.measured(fret) {
			y, z, uz = append(y, t.y[fret-1]), append(z, t.z[fret-1]), append(uz, t.uz[fret-1])
		}
	}
	if len(z) < 3 {
		return 0, 0, false, nil
	}
	f := func(q []float64) (float64, error) {
		if len(q) == 3 {
			return fit.CircleThrough(y, q) // the circle with no distances left, without a search
		}
		return fit.CircleRadius(y, q)
	}
	v, err = f(z)
	if err == nil && !n.quick {
		u, err = fit.Propagate(f, z, uz)
	}
	switch {
	case errors.Is(err, fit.ErrFlat), errors.Is(err, fit.ErrDegenerate), errors.Is(err, fit.ErrNotFinite), errors.Is(err, fit.ErrNotConverged):
		return 0, 0, false, nil // nearly flat: no radius, or none whose uncertainty has a meaning
	}
	return v, u, err == nil, err
}

// flatBoard reports that the specification calls the board flat, which therefore has no radius.
func (s *Spec) flatBoard() bool { return s.Neck.NutRadiusMM == 0 && s.Neck.LastFretRadiusMM == 0 }

// boardRadii adds the radius of every fret that shows one, of a board that is not flat.
func (e *evaluation) boardRadii() error {
	if e.spec.flatBoard() {
		return nil
	}
	for n := 1; n <= len(e.x); n++ {
		v, u, ok, err := e.boardRadius(n)
		if err != nil {
			return err
		}
		if ok {
			e.add(Characteristic{Name: BoardRadius, Fret: n}, v, u)
		}
	}
	return nil
}

// acrossFret adds the crowns of one fret.
func (p *points) acrossFret(c *Characteristic) {
	for _, t := range p.spec.TrackNames() {
		p.crown(t, c.Fret)
	}
}

func (n *neck) workBoardRadius(w *workings, c *Characteristic) error {
	for _, t := range n.tracks {
		if t.measured(c.Fret) {
			w.add("mm", t.y[c.Fret-1], "place across the board, %s", Side(t.name))
			w.add("mm", t.z[c.Fret-1], "crown, %s", Side(t.name))
		}
	}
	w.add("mm", n.radius[c.Fret-1], "nominal radius there (0 is flat)")
	return nil
}
