package fit

import (
	"fmt"
	"math"
)

// Propagate returns the standard uncertainty of f(q) from the standard uncertainties u of its independent inputs q, by
// central differences whose step is each input's own uncertainty (JCGM 100:2008, 5.1.3, note 2):
//
//	u_f^2 = sum of ((f(q + u_i) - f(q - u_i))/2)^2
//
// Inputs with u_i = 0 are skipped. f is called with q itself, changed in one place and restored afterwards: it must not
// keep or change it. The unit is f's. Errors: slices of different lengths, numbers that are not finite, a negative
// u, an error or a number that is not finite from f.
func Propagate(f func(q []float64) (float64, error), q, u []float64) (float64, error) {
	if err := checkInputs(q, u); err != nil {
		return 0, err
	}
	var sum float64
	for i := range q {
		if u[i] == 0 {
			continue
		}
		kept := q[i]
		q[i] = kept + u[i]
		up, err := valueOf(f, q)
		if err == nil {
			q[i] = kept - u[i]
			var down float64
			down, err = valueOf(f, q)
			sum = math.Hypot(sum, up/2-down/2)
		}
		q[i] = kept
		if err != nil {
			return 0, fmt.Errorf("uncertainty of input %d: %w", i, err)
		}
	}
	return sum, nil
}

// checkInputs checks inputs and their uncertainties: as many of one as of the other, finite, u not negative.
func checkInputs(q, u []float64) error {
	if len(q) != len(u) {
		return fmt.Errorf("%w: %d inputs and %d uncertainties; give one for each", ErrShape, len(q), len(u))
	}
	if err := CheckNumbers("input", q); err != nil {
		return err
	}
	if err := CheckNumbers("uncertainty", u); err != nil {
		return err
	}
	for i, ui := range u {
		if ui < 0 {
			return fmt.Errorf("uncertainty %d is %v: a standard uncertainty is 0 or more", i, ui)
		}
	}
	return nil
}

// valueOf returns f(q), refusing a result that is not a finite number.
func valueOf(f func(q []float64) (float64, error), q []float64) (float64, error) {
	v, err := f(q)
	if err != nil {
		return 0, err
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%w: the function gives %v", ErrNotFinite, v)
	}
	return v, nil
}

// SumOfSquares collects contributions to an uncertainty.
type SumOfSquares float64

// Add adds one input's contribution, half the difference of the values at the input plus and minus its u.
func (s *SumOfSquares) Add(up, down float64) {
	half := (up - down) / 2
	*s += SumOfSquares(half * half)
}

// U returns the standard uncertainty.
func (s SumOfSquares) U() float64 { return math.Sqrt(float64(s)) }
