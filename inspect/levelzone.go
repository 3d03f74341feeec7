package inspect

import "sagitta/inspect/zone"

// levelZone returns the minimum zone of frets 1 to b about bow and twist. Ok is false below two tracks or seven crowns.
func (n *neck) levelZone() (v, u float64, ok bool, err error) {
	s := n.surface(n.b)
	if s.tracks < 2 || len(s.z) <= 6 {
		return 0, 0, false, nil
	}
	for i := range s.x {
		s.x[i] /= n.fan.ScaleMM
	}
	solver, err := zone.NewLevelSolver(s.x, s.y)
	if err != nil {
		return 0, 0, false, err
	}
	if n.quick {
		v, err = solver.Solve(s.z)
		return v, 0, true, err
	}
	if v, err = solver.Solve(s.z); err != nil {
		return 0, 0, false, err
	}
	u, err = solver.Uncertainty(s.z, s.u)
	return v, u, true, err
}

// levelZones adds the level zone.
func (e *evaluation) levelZones() error {
	v, u, ok, err := e.levelZone()
	if ok && err == nil {
		e.add(Characteristic{Name: LevelZone}, v, u)
	}
	return err
}

// boardCrowns adds the crowns of frets 1 to b on the tracks that "each" stands for.
func (p *points) boardCrowns(*Characteristic) {
	for _, t := range p.spec.TrackNames() {
		p.crowns(t, 1, p.spec.Datum.SecondFret)
	}
}

// beforeJointIncomplete reports a crown of frets 1 to b or a track that was not measured.
func (n *neck) beforeJointIncomplete(*Characteristic) bool { return n.missing(n.b) }

func (n *neck) workLevelZone(w *workings, _ *Characteristic) error {
	s := n.surface(n.b)
	for i := range s.x {
		s.x[i] /= n.fan.ScaleMM
	}
	m, err := zone.Level(s.x, s.y, s.z)
	if err == nil {
		w.zone(m, nil, []string{"1", "u", "y", "u^2", "u^3", "u y"}, n.crownNames(n.b))
	}
	return err
}
