package study

import "math"

// Moments returns the mean and the sum of squared deviations from it. Differences from the first value are summed, not the
// values: that keeps the digits of values that share their leading ones, and equal values give their own mean and exactly 0.
// At least one value is needed.
func Moments(x []float64) (mean, ss float64) {
	origin, n := x[0], float64(len(x))
	d := 0.0
	for _, v := range x {
		d += v - origin
	}
	d /= n
	rest := 0.0
	for _, v := range x {
		rest += v - origin - d
	}
	d += rest / n
	for _, v := range x {
		e := v - origin - d
		ss += e * e
	}
	return origin + d, ss
}

// Range is the largest of the values less the smallest; at least one is needed.
func Range(x []float64) float64 {
	low, high := x[0], x[0]
	for _, v := range x {
		low, high = min(low, v), max(high, v)
	}
	return high - low
}

// Defined is a pointer to v, nil where v is not a finite number: the quantity is undefined there.
func Defined(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}
