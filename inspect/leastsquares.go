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

// Deviations returns the parameters of the deviations z_i - row_i . coef along z, in z's unit, as ISO 12780-1 (STRt, STRp,
// STRv, STRq) and ISO 12781-1 (FLTt, FLTp, FLTv, FLTq) define them: P the largest deviation above the reference, V the
// depth of the lowest below it, T = P + V, Q the root mean square. Lengths must match; with no points all are 0.
func Deviations(rows [][]float64, coef, z []float64) LeastSquares {
	deviations := make([]float64, len(z))
	for i := range z {
		deviations[i] = deviation(rows[i], coef, z[i])
	}
	return parametersOf(deviations, 1)
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

// deviation returns z - row . coef, its products and sums carried with their rounding errors.
func deviation(row, coef []float64, z float64) float64 {
	sum, lost := z, 0.0
	for j, c := range coef {
		product := -row[j] * c
		productLost := math.FMA(-row[j], c, -product)
		next := sum + product
		back := next - sum
		lost += (sum - (next - back)) + (product - back) + productLost
		sum = next
	}
	return sum + lost
}
