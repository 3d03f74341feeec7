package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// fewestDraws is the least number of draws that sample accepts.
const fewestDraws = 100

// sample draws the inputs of f n times from independent Normal distributions with means q and standard deviations u, and
// returns the mean, the standard deviation and the ends of the probabilistically symmetric 95 % coverage interval of the
// values (JCGM 101:2008, clause 7; the interval by its 7.7). The same seed gives the same draws. f gets a slice of its own
// that is used again for the next draw; q and u are left alone. Errors: as Propagate's, and ErrTooFew below 100 draws
// (the guide advises ten thousand times more than 1/(1 - 0.95), so some 200,000).
func sample(f func([]float64) (float64, error), q, u []float64, n int, seed uint64) (mean, sd, low95, high95 float64, err error) {
	if err := checkInputs(q, u); err != nil {
		return 0, 0, 0, 0, err
	}
	if n < fewestDraws {
		return 0, 0, 0, 0, fmt.Errorf("%w: %d draws; take at least %d", ErrTooFew, n, fewestDraws)
	}
	source := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15)) // second word of the generator's state: any constant
	drawn := make([]float64, len(q))
	values := make([]float64, n)
	for k := range values {
		for i := range drawn {
			drawn[i] = q[i] + u[i]*source.NormFloat64()
		}
		if values[k], err = valueOf(f, drawn); err != nil {
			return 0, 0, 0, 0, fmt.Errorf("draw %d of %d: %w", k+1, n, err)
		}
	}
	mean, sd = meanAndDeviation(values)
	slices.Sort(values)
	inside := (95*n + 50) / 100 // draws inside the interval, and those below it, rounded as the guide does
	below := (n - inside + 1) / 2
	low95, high95 = values[below-1], values[below+inside-1]
	if err := CheckNumbers("mean, deviation, interval", []float64{mean, sd, low95, high95}); err != nil {
		return 0, 0, 0, 0, err
	}
	return mean, sd, low95, high95, nil
}

// meanAndDeviation returns the mean and the standard deviation (divisor n - 1), in two passes about the first value.
func meanAndDeviation(values []float64) (mean, sd float64) {
	n, first := float64(len(values)), values[0]
	for _, v := range values {
		mean += (v - first) / n
	}
	var sum float64
	for _, v := range values {
		d := v - first - mean
		sum += d * d
	}
	return first + mean, math.Sqrt(sum / (n - 1))
}
