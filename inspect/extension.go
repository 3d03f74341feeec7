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
	scale := t.spec.Neck.ScaleMM
	ub := t.x[t.b-1] / scale
	return z[n-1] - (bend.At(ub) + bend.Slope(ub)*(t.x[n-1]/scale-ub))
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

// fallAway is how far the last fret lies below the produced tangent; NaN where not measured or not defined.
func (t *track) fallAway(z []float64, bend *fit.Bend) float64 {
	return -t.extension(z, bend, len(z))
}
