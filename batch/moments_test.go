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

// Worked out by hand: means 2 and 5, variances 1 and 1, three values each.
func TestCompare(t *testing.T) {
	row := func(name string, values ...float64) CharacteristicRow {
		m := Moments{}
		for _, v := range values {
			m = m.Plus(Moments{N: 1, Mean: v})
		}
		return CharacteristicRow{Named: Named{Name: name}, Moments: m}
	}
	got := Compare([]CharacteristicRow{row("relief", 1, 2, 3), row("twist", 1)}, []CharacteristicRow{row("hump", 1), row("relief", 4, 5, 6)})
	if len(got) != 3 || got[0].Name != "relief" || *got[0].Mean != 3 || math.Abs(*got[0].U-math.Sqrt(2.0/3)) > 1e-15 {
		t.Fatalf("%+v", got)
	}
	if got[1].Mean != nil || got[2].Name != "hump" || got[2].U != nil {
		t.Errorf("what only one has: %+v", got[1:])
	}
}
