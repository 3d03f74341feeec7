package inspect

import (
	"sagitta/inspect/fit"
	"sagitta/inspect/zone"
)

// flatness returns the minimum zone about a plane of every developed crown (ISO 12781-1) and the parameters about the
// least-squares plane. Ok is false below two tracks.
func (n *neck) flatness() (v, u float64, ls fit.Parameters, ok bool, err error) {
	s := n.surface(n.frets)
	if s.tracks < 2 || len(s.z) < 3 {
		return 0, 0, ls, false, nil
	}
	m, ls, err := zone.Flatness(s.x, s.y, s.z)
	if err != nil || n.quick {
		return m.Zone, 0, ls, true, err
	}
	solver, err := zone.NewSolver(rowsOf(s.x, s.y))
	if err != nil {
		return 0, 0, ls, false, err
	}
	u, err = solver.Uncertainty(s.z, s.u)
	return m.Zone, u, ls, true, err
}

// flatnesses adds the flatness of the board.
func (e *evaluation) flatnesses() error {
	v, u, ls, ok, err := e.flatness()
	if ok && err == nil {
		e.add(Characteristic{Name: Flatness, LeastSquares: &ls}, v, u)
	}
	return err
}

// allCrowns adds every crown of the tracks that "each" stands for.
func (p *points) allCrowns(*Characteristic) {
	for _, t := range p.spec.TrackNames() {
		p.crowns(t, 1, p.spec.Neck.Frets)
	}
}

// boardIncomplete reports a crown or a track of the board that was not measured.
func (n *neck) boardIncomplete(*Characteristic) bool { return n.missing(n.frets) }

func (n *neck) workFlatness(w *workings, _ *Characteristic) error {
	s := n.surface(n.frets)
	m, ls, err := zone.Flatness(s.x, s.y, s.z)
	if err == nil {
		w.zone(m, &ls, []string{"1", "x", "y"}, n.crownNames(n.frets))
	}
	return err
}
