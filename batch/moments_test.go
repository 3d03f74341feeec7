package batch

import (
	"math"
	"testing"
)

// The series with a mean of a million and a standard deviation of 0.1 is NumAcc3 of the NIST Statistical Reference Datasets
// (average level of difficulty): 1000000.2, then 1000000.1 and 1000000.3 five hundred times; certified mean 1000000.2,
// standard deviation 0.1.
func TestMomentsKeepTheirDigits(t *testing.T) {
	values := []float64{1000000.2}
	for range 500 {
		values = append(values, 1000000.1, 1000000.3)
	}
	sums := func(values []float64) Moments {
		ref, s1, s2 := values[0], 0.0, 0.0
		for _, v := range values {
			s1 += v - ref
			s2 += (v - ref) * (v - ref)
		}
		return MomentsOf(len(values), ref, s1, s2)
	}
	whole := sums(values)
	parts := sums(values[:333]).Plus(sums(values[333:600])).Plus(Moments{}).Plus(sums(values[600:]))
	for name, m := range map[string]Moments{"at once": whole, "in parts": parts} {
		sd, ok := m.SD()
		if !ok || m.N != 1001 || math.Abs(m.Mean-1000000.2) > 1e-9 || math.Abs(sd-0.1) > 1e-9 {
			t.Errorf("%s: n %d, mean %.10f, sd %.12f", name, m.N, m.Mean, sd)
		}
	}
	if _, ok := (Moments{N: 1, Mean: 3}).SD(); ok {
		t.Error("one value has a standard deviation")
	}
}
