package inspect

import (
	"math"

	"sagitta/inspect/fit"
	"sagitta/inspect/zone"
)

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
			s.x, s.y = append(s.x, t.x[i]), append(s.y, t.y[i])
			s.z, s.u = append(s.z, t.z[i]+t.sagitta[i]), append(s.u, t.uz[i])
		}
		if len(s.z) > before {
			s.tracks++
		}
	}
	return s
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

// zone adds the contacts that prove a minimum zone, with their multipliers, and what is with it.
func (w *workings) zone(m zone.Minimum, ls *fit.Parameters, functions, names []string) {
	w.add("", float64(len(names)), "crowns in it")
	for i, c := range m.Coefficients {
		w.add("", c, "coefficient of %s, middle of the zone", functions[i])
	}
	if ls != nil {
		w.add("mm", ls.T, "about the least-squares reference: peak to valley, t")
		w.add("mm", ls.P, "peak, p")
		w.add("mm", ls.V, "valley, v")
		w.add("mm", ls.Q, "root mean square, q")
	}
	for _, k := range m.Contacts {
		where := "above"
		if k.Side < 0 {
			where = "below"
		}
		w.add("", k.Multiplier, "touched from %s by the %s, multiplier", where, names[k.Index])
	}
}

// crownNames names the crowns of frets 1 to last that surface collects, in its order.
func (n *neck) crownNames(last int) []string {
	var names []string
	for _, t := range n.tracks {
		for i := range last {
			if t.measured(i + 1) {
				names = append(names, t.crownName(i+1))
			}
		}
	}
	return names
}

// missing reports a crown of frets 1 to last that is missing on a measured track, or a track of the routine that is
// missing altogether.
func (n *neck) missing(last int) bool {
	for _, t := range n.tracks {
		if t.missing(1, last) {
			return true
		}
	}
	if n.spec.Routine == nil {
		return false
	}
	for _, name := range n.spec.Routine.Tracks {
		if n.track(name) == nil {
			return true
		}
	}
	return false
}
