package spc

import (
	"math"
	"testing"
)

// Source: ISO 7870-2:2013, Table 2; ASTM MNL 7, Table 16, as in testdata/reference/statistics/chart_constants.json, where the
// tolerance is 1e-7 and the values are good to about 1e-10.
func TestConstantsAreThoseOfTheTable(t *testing.T) {
	for _, e := range references(t, "chart_constants.json", "Shewhart constants") {
		n := decode[int](t, e.Inputs, "n")
		root := math.Sqrt(float64(n))
		r, s := rangeFactors(n), deviationFactors(n)
		d2, d1, bigD2 := r.limits(1)
		c4, b5, b6 := s.limits(1)
		got := map[string]float64{"d2": d2, "d3": D3(n), "c4": c4, "D1": d1, "D2": bigD2, "B5": b5, "B6": b6,
			"D3": d1 / d2, "D4": bigD2 / d2, "B3": b5 / c4, "B4": b6 / c4,
			"A": 3 / root, "A2": 3 / (d2 * root), "A3": 3 / (c4 * root), "E2": 3 / d2, "E3": 3 / c4}
		for name, v := range got {
			want := decode[float64](t, e.Expected, name)
			if math.Abs(v-want) > 1e-9 {
				t.Errorf("%s(%d) = %.12g, want %.12g", name, n, v, want)
			}
		}
	}
}

// c4 by its definition, 30 digits, from another library (mpmath 1.3); the series takes over above 300.
func TestC4OfLargeSamples(t *testing.T) {
	for _, c := range []struct {
		n    int
		want float64
	}{{100, 0.997477976071263511}, {300, 0.999164230607345518}, {301, 0.999167015334362209}, {1001, 0.999750031289052197}, {1_000_000, 0.99999974999978125}} {
		if got := C4(c.n); math.Abs(got-c.want) > 3e-13 {
			t.Errorf("c4(%d) = %.16g, want %.16g", c.n, got, c.want)
		}
	}
	for _, v := range []float64{C4(1), D3(1)} {
		if !math.IsNaN(v) {
			t.Errorf("a factor of one value is %v, want none", v)
		}
	}
}
