package inspect

import (
	"errors"
	"math"

	"sagitta/inspect/fit"
)

// boardRadius returns the radius of the geometric least-squares circle through the crowns of one fret. Ok is false below
// three tracks there, and where the crowns show no radius.
func (n *neck) boardRadius(fret int) (v, u float64, ok bool, err error) {
	const some = 8
	y, there := make([]float64, 0, some), make([]*track, 0, some)
	for _, t := range n.tracks {
		if !math.IsNaN(t.carried(t.z, t.bend, fret)) {
			at, _ := t.section(fret)
			y, there = append(y, at), append(there, t)
		}
	}
	if len(there) < 3 {
		return 0, 0, false, nil
	}
	f := func(q []float64) (float64, error) {
		if len(q) == 3 {
			return fit.CircleThrough(y, q) // the circle with no distances left, without a search
		}
		return fit.CircleRadius(y, q)
	}
	v, err = f(crownsAcross(there, fret))
	if err == nil && !n.quick {
		u, err = propagateAcross(f, there, fret)
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
	for n := 1; n <= e.frets; n++ {
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
		if z := t.carried(t.z, t.bend, c.Fret); !math.IsNaN(z) {
			y, _ := t.section(c.Fret)
			w.add("mm", y, "place across the board, %s", Side(t.name))
			w.add("mm", z, "crown, %s%s", t.carriedWords(c.Fret), Side(t.name))
		}
	}
	w.add("mm", n.fan.Radius(n.fan.Centre.At(c.Fret)), "nominal radius there (0 is flat)")
	return nil
}
