package study

import (
	"fmt"
	"math"
	"testing"
)

// Source: 40-digit computations (t_chi_square_f.json). Tails are compared relatively, so that small ones count.
func TestTails(t *testing.T) {
	for _, row := range decode[[][]float64](t, references(t, "t_chi_square_f.json", "Student t: ")[0].Expected, "rows") {
		x, nu := row[0], row[1]
		near(t, fmt.Sprintf("two tails of t %v, %v", x, nu), tTails(x, nu), 2*math.Min(row[2], row[3]), 1e-11)
	}
	for _, row := range decode[[][]float64](t, references(t, "t_chi_square_f.json", "F: ")[0].Expected, "rows") {
		near(t, fmt.Sprintf("tail of F %v, %v, %v", row[0], row[1], row[2]), fTail(row[0], row[1], row[2]), row[4], 1e-11)
	}
	for _, none := range []float64{fTail(math.NaN(), 1, 1), fTail(math.Inf(1), 1, 1), fTail(-1, 1, 1), fTail(1, 0, 1), fTail(1, 1, 0)} {
		if !math.IsNaN(none) {
			t.Errorf("a tail of nothing: %v", none)
		}
	}
}

// Source: the same file's quantiles.
func TestQuantiles(t *testing.T) {
	for _, row := range decode[[][]float64](t, references(t, "t_chi_square_f.json", "Student t quantiles")[0].Expected, "rows") {
		if p := row[0]; p > 0.5 {
			near(t, fmt.Sprintf("t quantile %v", row), tQuantile(2*p-1, row[1]), row[2], 1e-9)
		}
	}
	for _, row := range decode[[][]float64](t, references(t, "t_chi_square_f.json", "F quantiles")[0].Expected, "rows") {
		near(t, fmt.Sprintf("F quantile %v", row), fQuantile(int(row[1]), int(row[2]), 1-row[0]), row[3], 1e-9)
	}
	// The chi-square factors of an interval, from the quantiles at 0.025 and 0.975.
	for _, row := range decode[[][]float64](t, references(t, "t_chi_square_f.json", "Chi-square quantiles")[0].Expected, "rows") {
		df := row[1]
		switch row[0] {
		case tail:
			near(t, fmt.Sprintf("H of %v", df), stretch(int(df)), df/row[2]-1, 1e-9)
		case 1 - tail:
			near(t, fmt.Sprintf("G of %v", df), shrink(int(df)), 1-df/row[2], 1e-9)
		}
	}
}
