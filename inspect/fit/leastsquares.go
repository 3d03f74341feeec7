package fit

import "math"

// LeastSquares returns the coefficients of the least-squares reference surface: the c that minimise the sum of
// (z_i - row_i . c)^2. rows holds the family's functions at each point, z the heights, as many as rows; the unit is z's.
// A function that depends on those before it over these points gets coefficient 0. Errors: ErrTooFew without rows,
// ErrShape for lengths that differ, ErrNotFinite.
func LeastSquares(rows [][]float64, z []float64) (coef []float64, err error) {
	d, err := DesignOf(rows)
	if err != nil {
		return nil, err
	}
	h := d.NewHeights()
	if err := d.Reduce(z, &h); err != nil {
		return nil, err
	}
	coef = d.Coefficients(&h, nil)
	return coef, CheckNumbers("coefficient", coef)
}

// Parameters holds the parameters about the least-squares line or plane (ISO 12780-1, ISO 12781-1): peak-to-valley, peak,
// valley depth, root mean square; mm.
type Parameters struct {
	T float64 `json:"t"`
	P float64 `json:"p"`
	V float64 `json:"v"`
	Q float64 `json:"q"`
}

// ParametersOf summarises deviations given in units of scale.
func ParametersOf(deviations []float64, scale float64) Parameters {
	if len(deviations) == 0 {
		return Parameters{}
	}
	peak, valley := deviations[0], deviations[0]
	for _, r := range deviations {
		peak, valley = max(peak, r), min(valley, r)
	}
	q := math.Sqrt(Dot(deviations, deviations) / float64(len(deviations)))
	p := Parameters{P: peak * scale, V: -valley * scale, Q: q * scale}
	p.T = p.P + p.V
	return p
}
