package inspect

import (
	"math"

	"sagitta/inspect/fit"
	"sagitta/inspect/zone"
)

// level is the level deviation of fret n: its crown above the bend curve; NaN where not measured or not defined.
func (t *track) level(z []float64, bend *fit.Bend, n int) float64 {
	if bend == nil || n > t.b {
		return math.NaN()
	}
	return z[n-1] - bend.At(t.x[n-1]/t.spec.Neck.ScaleMM)
}

// rocker is what a short straightedge over frets n-1, n and n+1 feels: the height of crown n above the line through its
// neighbours, minus what the bend curve contributes before fret b; NaN where not defined.
func (t *track) rocker(z []float64, bend *fit.Bend, n int) float64 {
	if n < 2 || n >= len(z) || n < t.b && bend == nil {
		return math.NaN()
	}
	x := t.x[n-2 : n+1]
	r := -reliefAt(x[0], x[1], x[2], z[n-2], z[n-1], z[n])
	if n < t.b {
		scale := t.spec.Neck.ScaleMM
		r += reliefAt(x[0], x[1], x[2], bend.At(x[0]/scale), bend.At(x[1]/scale), bend.At(x[2]/scale))
	}
	return r
}

// surface holds the measured crowns of several tracks, developed.
type surface struct {
	x, y, z, u []float64
	tracks     int // that have a crown in it
}

// surface collects the crowns of frets 1 to last.
func (n *neck) surface(last int) surface {
	count := len(n.tracks) * last
	all := make([]float64, 0, 4*count)
	part := func(i int) []float64 { return all[i*count : i*count : (i+1)*count] }
	s := surface{x: part(0), y: part(1), z: part(2), u: part(3)}
	for _, t := range n.tracks {
		before := len(s.z)
		for i := range last {
			if math.IsNaN(t.z[i]) {
				continue
			}
			s.x, s.y = append(s.x, n.x[i]), append(s.y, t.y[i])
			s.z, s.u = append(s.z, t.z[i]+t.sagitta[i]), append(s.u, t.uz[i])
		}
		if len(s.z) > before {
			s.tracks++
		}
	}
	return s
}

// flatness returns the minimum zone about a plane of every developed crown (ISO 12781-1) and the parameters about the
// least-squares plane. Ok is false below two tracks.
func (n *neck) flatness() (v, u float64, ls fit.Parameters, ok bool, err error) {
	s := n.surface(len(n.x))
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

// rowsOf returns the functions 1, then each list's entry, at every point.
func rowsOf(lists ...[]float64) [][]float64 {
	count, width := len(lists[0]), len(lists)+1
	rows, all := make([][]float64, count), make([]float64, count*width)
	for i := range rows {
		rows[i] = all[i*width : (i+1)*width]
		rows[i][0] = 1
		for j, l := range lists {
			rows[i][j+1] = l[i]
		}
	}
	return rows
}

// levelZone returns the minimum zone of frets 1 to b about bow and twist. Ok is false below two tracks or seven crowns.
func (n *neck) levelZone() (v, u float64, ok bool, err error) {
	s := n.surface(n.b)
	if s.tracks < 2 || len(s.z) <= 6 {
		return 0, 0, false, nil
	}
	for i := range s.x {
		s.x[i] /= n.spec.Neck.ScaleMM
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
