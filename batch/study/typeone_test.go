package study

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// Source: ISO 22514-7:2021 and VDA Volume 5 formulae on constructed readings, share and spread varied (gauge_studies.json).
func TestTypeOne(t *testing.T) {
	for _, e := range references(t, "gauge_studies.json", "Type 1 study") {
		r, err := TypeOne(decode[[]float64](t, e.Inputs, "x"), TypeOneOptions{
			Reference: decode[float64](t, e.Inputs, "reference"),
			Tolerance: decode[float64](t, e.Inputs, "tolerance"),
			Share:     decode[float64](t, e.Inputs, "K_percent") / 100,
			Spread:    decode[float64](t, e.Inputs, "L"),
		})
		if err != nil {
			t.Fatal(err)
		}
		for key, got := range map[string]any{"n": float64(r.N), "mean": r.Mean, "sd": r.SD, "bias": r.Bias, "Cg": r.Cg, "Cgk": r.Cgk} {
			near(t, e.Name+" "+key, got, decode[float64](t, e.Expected, key), 1e-9)
		}
		// The source prints the size of t; it has the sign of the bias.
		near(t, e.Name+" t", r.T, math.Copysign(decode[float64](t, e.Expected, "t"), decode[float64](t, e.Expected, "bias")), 1e-9)
		near(t, e.Name+" p", r.P, decode[float64](t, e.Expected, "p_bias"), 1e-8)
	}
}

// Source: AIAG manual, bias by the independent sample method, t test with the sample standard deviation
// (gauge_studies.json). Without a tolerance there is no Cg.
func TestBias(t *testing.T) {
	e := references(t, "gauge_studies.json", "Bias")[0]
	r, err := TypeOne(decode[[]float64](t, e.Inputs, "x"), TypeOneOptions{Reference: decode[float64](t, e.Inputs, "reference")})
	if err != nil {
		t.Fatal(err)
	}
	for key, got := range map[string]any{"mean": r.Mean, "bias": r.Bias, "sd": r.SD, "t": r.T, "p": r.P} {
		near(t, key, got, decode[float64](t, e.Expected, key), 1e-8)
	}
	limits := decode[[]float64](t, e.Expected, "bias_interval")
	near(t, "low", r.BiasInterval.Low, limits[0], 1e-8)
	near(t, "high", r.BiasInterval.High, limits[1], 1e-8)
	if r.Cg != nil || r.Cgk != nil {
		t.Errorf("Cg %v, Cgk %v without a tolerance", r.Cg, r.Cgk)
	}
}

// Equal readings have sd exactly 0 (0.1 ten times sums to less than 1 in doubles) and nothing that divides by it.
func TestEqualReadings(t *testing.T) {
	for _, v := range []float64{0.1, 20.302, -1e9 / 3, 0} {
		r, err := TypeOne([]float64{v, v, v, v, v, v, v, v, v, v}, TypeOneOptions{Reference: v - 0.25, Tolerance: 1})
		if err != nil {
			t.Fatal(err)
		}
		if r.SD != 0 || r.Mean != v || r.T != nil || r.P != nil || r.Cg != nil || r.Cgk != nil || r.BiasInterval != nil {
			t.Errorf("%v: %+v", v, r)
		}
	}
}

// The verdict at the edges of its rule.
func TestTypeOneVerdict(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	for _, c := range []struct {
		r    TypeOneResult
		want Finding
		more []Finding
	}{
		{TypeOneResult{N: 25}, AllAlike, nil},
		{TypeOneResult{N: 25, SD: 1}, NoTolerance, nil},
		{TypeOneResult{N: 25, SD: 1, Cg: n(1.33), Cgk: n(1.33)}, IsCapable, nil},
		{TypeOneResult{N: 25, SD: 1, Cg: n(1.33), Cgk: n(1.32), P: n(0.049)}, TooBiased, []Finding{Biased}},
		{TypeOneResult{N: 24, SD: 1, Cg: n(1.32), Cgk: n(1.32), P: n(0.05)}, NotCapable, []Finding{Unbiased, FewReadings}},
		{TypeOneResult{N: 25, SD: 1, Cg: n(2), Cgk: n(2), StepShare: n(5)}, IsCapable, []Finding{FineStep}},
		{TypeOneResult{N: 25, SD: 1, Cg: n(2), Cgk: n(2), StepShare: n(5.01)}, TooCoarse, []Finding{CoarseStep}},
	} {
		if answer, more := c.r.Verdict(); answer != c.want || !slices.Equal(more, c.more) {
			t.Errorf("%+v: %q, %q; want %q, %q", c.r, answer, more, c.want, c.more)
		}
	}
}

func TestTypeOneErrors(t *testing.T) {
	two := []float64{1, 2}
	for _, c := range []struct {
		x    []float64
		o    TypeOneOptions
		want string
	}{
		{nil, TypeOneOptions{}, "needs at least 2 readings, better 25 or more; found 0"},
		{[]float64{1}, TypeOneOptions{}, "found 1"},
		{[]float64{1, math.NaN()}, TypeOneOptions{}, "row 2: value: found NaN"},
		{[]float64{1, 1e200}, TypeOneOptions{}, "too large"},
		{two, TypeOneOptions{Reference: math.Inf(1)}, "reference: found +Inf"},
		{two, TypeOneOptions{Tolerance: -2}, "tolerance: found -2"},
		{two, TypeOneOptions{Share: 15}, "share: found 15; allowed: above 0, at most 1"},
		{two, TypeOneOptions{Spread: -6}, "spread: found -6"},
	} {
		if _, err := TypeOne(c.x, c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v %+v: %v, want %q", c.x, c.o, err, c.want)
		}
	}
}
