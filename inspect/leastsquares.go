package inspect

import "math"

// FitLeastSquares returns the coefficients of the least-squares reference surface: the c that minimise the sum of
// (z_i - row_i . c)^2. rows holds the family's functions at each point, z the heights, as many as rows; the unit is z's.
// A function that depends on those before it over these points gets coefficient 0. Errors: ErrTooFew without rows,
// ErrShape for lengths that differ, ErrNotFinite.
func FitLeastSquares(rows [][]float64, z []float64) (coef []float64, err error) {
	d, err := designOf(rows)
	if err != nil {
		return nil, err
	}
	h := d.newHeights()
	if err := d.reduce(z, &h); err != nil {
		return nil, err
	}
	coef = d.coefficients(&h, nil)
	return coef, checkNumbers("coefficient", coef)
}

// parametersOf summarises deviations given in units of scale.
func parametersOf(deviations []float64, scale float64) LeastSquares {
	if len(deviations) == 0 {
		return LeastSquares{}
	}
	peak, valley := deviations[0], deviations[0]
	for _, r := range deviations {
		peak, valley = max(peak, r), min(valley, r)
	}
	q := math.Sqrt(dot(deviations, deviations) / float64(len(deviations)))
	p := LeastSquares{P: peak * scale, V: -valley * scale, Q: q * scale}
	p.T = p.P + p.V
	return p
}
