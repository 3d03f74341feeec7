package inspect

import (
	"math"

	"sagitta/inspect/fit"
)

// sideDifference returns relief on the bass side less relief on the treble side, from profiles only.
func (n *neck) sideDifference() (v, u float64, ok bool, err error) {
	if n.low == nil {
		return 0, 0, false, nil
	}
	v = n.low.relief(n.low.z, n.k) - n.high.relief(n.high.z, n.k)
	if math.IsNaN(v) {
		return 0, 0, false, nil
	}
	for _, t := range []*track{n.low, n.high} {
		ut, err := t.propagate(func(z []float64, _ *fit.Bend) float64 { return t.relief(z, n.k) })
		if err != nil {
			return 0, 0, false, err
		}
		u = math.Hypot(u, ut)
	}
	return v, u, true, nil
}

// sideDifferences adds the difference of the sides.
func (e *evaluation) sideDifferences() error {
	v, u, ok, err := e.sideDifference()
	if ok {
		e.add(Characteristic{Name: SideDifference, Datum: &[2]int{e.a, e.b}}, v, u)
	}
	return err
}

// outerReliefs adds the crowns of relief on the outer tracks.
func (p *points) outerReliefs(*Characteristic) {
	d := p.spec.Datum
	for _, t := range p.spec.outerTracks() {
		p.crown(t, d.FirstFret, d.ReliefFret, d.SecondFret)
	}
}

func (n *neck) workSideDifference(w *workings, _ *Characteristic) error {
	for _, t := range [2]*track{n.low, n.high} {
		w.add("mm", t.relief(t.z, n.k), "relief, %s", Side(t.name))
	}
	return nil
}
