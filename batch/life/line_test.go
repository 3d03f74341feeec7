package life

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// Source: NIST StRD Norris, certified values (anova_regression.json), by log relative error. With measurements that err by nothing
// themselves and one a visit the fit is ordinary least squares.
func TestLineNIST(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "statistics", "anova_regression.json"))
	if err != nil {
		t.Fatal(err)
	}
	var file struct{ Entries []json.RawMessage } // each of its own shape
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(file.Entries, func(e json.RawMessage) bool { return bytes.Contains(e, []byte("Norris")) })
	var e struct {
		Inputs struct{ X, Y []float64 }
		Expect struct {
			Coefficients []float64
			Errors       []float64 `json:"standard_errors"`
			SD           float64   `json:"residual_sd"`
		} `json:"expected"`
	}
	if err := json.Unmarshal(file.Entries[at], &e); err != nil {
		t.Fatal(err)
	}
	var all []sample
	for i, x := range e.Inputs.X {
		all = append(all, sample{visit: i, humidity: x, mm: e.Inputs.Y[i]})
	}
	l, ok := fitLine(all)
	if !ok {
		t.Fatal("no line")
	}
	slope, u := l.slope()
	intercept, variance := l.at(0)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"slope", slope, e.Expect.Coefficients[1]}, {"its standard error", u, e.Expect.Errors[1]},
		{"intercept", intercept, e.Expect.Coefficients[0]}, {"its standard error", math.Sqrt(variance), e.Expect.Errors[0]},
		{"residual standard deviation", l.spread, e.Expect.SD},
	} {
		if lre := -math.Log10(math.Abs(c.got-c.want) / math.Abs(c.want)); lre < 10 {
			t.Errorf("%s: %.15g, certified %.15g: log relative error %.1f, want 10", c.name, c.got, c.want, lre)
		}
	}
	if l.df != len(all)-2 {
		t.Errorf("%d degrees of freedom of %d points", l.df, len(all))
	}
}

// Two levels are as two lines of one slope: moving every relief of a level moves nothing but that level, and mixing the order of what
// happened at one visit nothing at all.
func TestLineLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	var all []sample
	for v := range 6 {
		h := 35 + 5*float64(v) + r.Float64()
		all = append(all, sample{visit: v, level: v / 3, humidity: h, mm: 0.3 + 0.02*r.NormFloat64(), u: 0.005})
		if v == 2 {
			all = append(all, sample{visit: v, level: 1, humidity: h, mm: 0.2, u: 0.005})
		}
	}
	l, ok := fitLine(all)
	if !ok || l.df != 4 {
		t.Fatalf("%v, %d degrees of freedom", ok, l.df)
	}
	for i := range all {
		if all[i].level == 1 {
			all[i].mm += 0.17
		}
	}
	moved, _ := fitLine(all)
	was, uWas := l.slope()
	is, uIs := moved.slope()
	if math.Abs(was-is) > 1e-12 || math.Abs(uWas-uIs) > 1e-12 {
		t.Errorf("slope %g (%g), after a level moved %g (%g)", was, uWas, is, uIs)
	}
	before, _ := l.at(40)
	after, _ := moved.at(40)
	if math.Abs(after-before-0.17) > 1e-12 {
		t.Errorf("the level moved by %g instead of 0.17", after-before)
	}
}

// One humidity, or as many levels as samples: no line, and no panic.
func TestNoLine(t *testing.T) {
	for name, all := range map[string][]sample{
		"nothing":      nil,
		"one":          {{humidity: 40, mm: 1, u: 0.01}},
		"one humidity": {{visit: 1, humidity: 40, mm: 1, u: 0.01}, {visit: 2, humidity: 40, mm: 2, u: 0.01}, {visit: 3, humidity: 40, mm: 2, u: 0.01}},
		"levels apart": {{visit: 1, humidity: 40, u: 0.01}, {visit: 2, level: 1, humidity: 60, u: 0.01}, {visit: 3, level: 2, humidity: 50, u: 0.01}},
	} {
		if l, ok := fitLine(all); ok {
			t.Errorf("%s: a line %+v", name, l)
		}
	}
}
