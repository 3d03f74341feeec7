package study

import (
	"fmt"
	"math"
	"testing"
)

// The factors of the manual's printed form agree with the computed ones to their four places.
func TestPrintedFactors(t *testing.T) {
	e := references(t, "gauge_studies.json", "printed factors")[0]
	for key, got := range map[string]float64{"K1": 1 / D2(3), "K2": 1 / D2Star(3, 1), "K3": 1 / D2Star(10, 1)} {
		if want := decode[float64](t, e.Inputs, key); math.Abs(got-want) > 0.5e-4 {
			t.Errorf("%s %v, printed %v", key, got, want)
		}
	}
}

// Source: d2 and d3 of the factors tables, d2* of Duncan's table D3 (range_factors.json), to 1e-10.
func TestRangeFactors(t *testing.T) {
	for _, e := range references(t, "range_factors.json", "Shewhart constants") {
		n := decode[int](t, e.Inputs, "n")
		d2, d3 := decode[float64](t, e.Expected, "d2"), decode[float64](t, e.Expected, "d3")
		near(t, fmt.Sprintf("d2(%d)", n), D2(n), d2, 1e-10)
		near(t, fmt.Sprintf("d3(%d)", n), math.Sqrt(rangeSquare(n)-D2(n)*D2(n)), d3, 1e-9)
	}
	rows := decode[[][]float64](t, references(t, "range_factors.json", "d2*")[0].Expected, "rows")
	for _, row := range rows {
		m, g := int(row[0]), int(row[1])
		near(t, fmt.Sprintf("d2*(%d, %d)", m, g), D2Star(m, g), row[2], 1e-10)
	}
	if len(rows) < 20 {
		t.Errorf("only %d rows", len(rows))
	}
	// The range of two is |x - y|: its mean is 2/sqrt(pi) and its mean square 2, exactly.
	near(t, "d2(2)", D2(2), 2/math.Sqrt(math.Pi), 1e-13)
	near(t, "d2*(2, 1)", D2Star(2, 1), math.Sqrt2, 1e-13)
	for _, bad := range []float64{D2(1), D2Star(1, 1), D2Star(2, 0)} {
		if !math.IsNaN(bad) {
			t.Errorf("a range of one value has a factor: %v", bad)
		}
	}
	// Ranges of many: D. C. Montgomery's table gives 3.931 and 0.708 for 25, E. S. Pearson's 5.015 and 0.605 for 100 (from memory).
	near(t, "d2(25)", D2(25), 3.931, 2e-4)
	near(t, "d2(100)", D2(100), 5.015, 2e-4)
	near(t, "d3(25)", math.Sqrt(rangeSquare(25)-D2(25)*D2(25)), 0.708, 1e-3)
	near(t, "d3(100)", math.Sqrt(rangeSquare(100)-D2(100)*D2(100)), 0.605, 1e-3)
}
