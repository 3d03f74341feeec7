package zone

import (
	"errors"
	"fmt"
	"math"

	"sagitta/inspect/fit"
)

// errNotProved is what a zone that is not the minimum gets.
var errNotProved = errors.New("not proved to be the minimum zone")

// prove checks, without regard to how the zone was found, that it is the minimum: every point lies inside it, and the
// contacts are a dual solution of the linear programme with the same value, which no other zone can beat (weak duality).
// Sums are formed with their rounding errors; what is allowed is the rounding of the coefficients and multipliers
// themselves. Errors: errNotProved with what failed, fit.ErrShape.
func (m Minimum) prove(rows [][]float64, z []float64) error {
	if len(rows) != len(z) || len(z) == 0 {
		return fmt.Errorf("%w: %d rows, %d heights", fit.ErrShape, len(rows), len(z))
	}
	p := len(m.Coefficients)
	half, terms := m.Zone/2, 0.0
	if !(half >= 0) || fit.CheckNumbers("coefficient", m.Coefficients) != nil {
		return fmt.Errorf("%w: width %v, coefficients %v", errNotProved, m.Zone, m.Coefficients)
	}
	reach := make([]float64, p) // largest magnitude of each function
	for i, row := range rows {
		if len(row) != p {
			return fmt.Errorf("%w: row %d has %d entries for %d coefficients", fit.ErrShape, i, len(row), p)
		}
		size := math.Abs(z[i])
		for j, v := range row {
			size += math.Abs(v * m.Coefficients[j])
			reach[j] = max(reach[j], math.Abs(v))
		}
		terms = max(terms, size)
	}
	slack := 64*fit.Epsilon*half + float64(4+4*p)*fit.Epsilon*terms
	for i, row := range rows {
		if d := deviation(row, m.Coefficients, z[i]); !(math.Abs(d) <= half+slack) {
			return fmt.Errorf("%w: point %d deviates by %v, outside a zone of half width %v", errNotProved, i, d, half)
		}
	}
	return m.proveContacts(rows, z, reach, slack)
}

// proveContacts checks the dual side of the proof.
func (m Minimum) proveContacts(rows [][]float64, z, reach []float64, slack float64) error {
	const rounding = 4096 * fit.Epsilon // of the multipliers, which are at most 1
	var total, bound float64
	balance := make([]float64, len(reach))
	for _, c := range m.Contacts {
		if c.Index < 0 || c.Index >= len(z) || c.Side != 1 && c.Side != -1 || !(c.Multiplier >= 0) {
			return fmt.Errorf("%w: contact %+v over %d points", errNotProved, c, len(z))
		}
		weight := float64(c.Side) * c.Multiplier
		total += c.Multiplier
		bound += weight * deviation(rows[c.Index], m.Coefficients, z[c.Index])
		for j, v := range rows[c.Index] {
			balance[j] += weight * v
		}
	}
	if math.Abs(total-1) > rounding {
		return fmt.Errorf("%w: multipliers sum to %v, not 1", errNotProved, total)
	}
	for j, v := range balance {
		if math.Abs(v) > rounding*reach[j] {
			return fmt.Errorf("%w: function %d is out of balance by %v of %v", errNotProved, j, v, reach[j])
		}
	}
	if half := m.Zone / 2; math.Abs(half-bound) > slack+rounding*half {
		return fmt.Errorf("%w: half width %v, bound from the contacts %v", errNotProved, half, bound)
	}
	return nil
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

// deviationsOf returns the parameters of the deviations z_i - row_i . coef along z, in z's unit, as ISO 12780-1 (STRt, STRp,
// STRv, STRq) and ISO 12781-1 (FLTt, FLTp, FLTv, FLTq) define them: P the largest deviation above the reference, V the
// depth of the lowest below it, T = P + V, Q the root mean square. Lengths must match; with no points all are 0.
func deviationsOf(rows [][]float64, coef, z []float64) fit.Parameters {
	deviations := make([]float64, len(z))
	for i := range z {
		deviations[i] = deviation(rows[i], coef, z[i])
	}
	return fit.ParametersOf(deviations, 1)
}

// minimumZoneOf returns the exact minimum zone of heights z about the linear family whose functions rows holds at each
// point (row 0 of a plane: 1, x, y). len(rows) must equal len(z). Points that the family fits exactly, such as no more
// points than functions, have a zone of 0; a function that depends on those before it over these points gets coefficient 0.
// Errors: fit.ErrTooFew without points, fit.ErrShape, fit.ErrNotFinite, and fit.ErrNotConverged if rounding defeats the search.
func minimumZoneOf(rows [][]float64, z []float64) (Minimum, error) {
	s, err := NewSolver(rows)
	if err != nil {
		return Minimum{}, err
	}
	return s.minimumZone(z)
}
