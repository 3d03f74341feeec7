package inspect

import (
	"errors"
	"math"

	"sagitta/inspect/fit"
)

// propagate returns the standard uncertainty of a characteristic of one track by central differences over its crowns (JCGM
// 100:2008, 5.1.3, note 2). f computes the characteristic from the heights and the bend curve, and keeps neither. The bend
// curves of raised and lowered crowns are fitted once and serve every characteristic of the track. 0 when quick.
func (t *track) propagate(f func(z []float64, bend *fit.Bend) float64) (float64, error) {
	if t.quick {
		return 0, nil
	}
	if err := t.perturbBends(); err != nil {
		return 0, err
	}
	var sum fit.SumOfSquares
	for i, kept := range t.z {
		if math.IsNaN(kept) || t.uz[i] == 0 {
			continue
		}
		bends := [2]*fit.Bend{t.bend, t.bend}
		if t.bend != nil && i < t.b {
			bends = t.uBend[i]
		}
		t.z[i] = kept + t.uz[i]
		up := f(t.z, bends[0])
		t.z[i] = kept - t.uz[i]
		down := f(t.z, bends[1])
		t.z[i] = kept
		sum.Add(up, down)
	}
	return sum.U(), nil
}

// perturbBends fits the bend curves of raised and lowered crowns.
func (t *track) perturbBends() error {
	if t.uBend != nil || t.bend == nil {
		return nil
	}
	t.uBend = make([][2]*fit.Bend, t.b)
	for i := range t.b {
		kept := t.z[i]
		if math.IsNaN(kept) || t.uz[i] == 0 {
			t.uBend[i] = [2]*fit.Bend{t.bend, t.bend}
			continue
		}
		for side, d := range [2]float64{t.uz[i], -t.uz[i]} {
			t.z[i] = kept + d
			bend, err := t.fitBend()
			t.z[i] = kept
			if err != nil {
				return err
			}
			t.uBend[i][side] = bend
		}
	}
	return nil
}

// fitBend fits the bend curve to the crowns measured at frets 1 to b; nil when there are too few for it.
func (t *track) fitBend() (*fit.Bend, error) {
	u, z := make([]float64, 0, t.b), make([]float64, 0, t.b)
	for i := range t.b {
		if !math.IsNaN(t.z[i]) {
			u = append(u, t.x[i]/t.fan.ScaleMM)
			z = append(z, t.z[i])
		}
	}
	bend, err := fit.BendCurve(u, z)
	switch {
	case errors.Is(err, fit.ErrTooFew):
		return nil, nil
	case err != nil:
		return nil, err
	}
	return &bend, nil
}
