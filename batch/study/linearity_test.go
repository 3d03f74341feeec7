package study

import (
	"math"
	"strings"
	"testing"
)

// Source: AIAG manual, linearity, five references of twelve readings (gauge_studies.json).
func TestLinearity(t *testing.T) {
	e := references(t, "gauge_studies.json", "Linearity")[0]
	references := decode[[]float64](t, e.Inputs, "reference")
	var c []Comparison
	for i, readings := range decode[[][]float64](t, e.Inputs, "readings") {
		for _, v := range readings {
			c = append(c, Comparison{references[i], v})
		}
	}
	r, err := Linearity(c)
	if err != nil {
		t.Fatal(err)
	}
	for key, got := range map[string]any{"slope": r.Slope, "intercept": r.Intercept, "R2": r.R2, "p_slope": r.PSlope, "p_intercept": r.PIntercept,
		"s": r.Fit.S, "se_slope": r.Fit.SESlope, "se_intercept": r.Fit.SEIntercept} {
		near(t, key, got, decode[float64](t, e.Expected, key), 1e-8)
	}
	bias, ts := decode[[]float64](t, e.Expected, "bias_by_reference"), decode[[]float64](t, e.Expected, "per_reference_t")
	for i, b := range r.Bias {
		if b.Reference != references[i] || b.N != 12 || b.P == nil || *b.P <= 0 || *b.P >= 1 {
			t.Errorf("bias %d: %+v", i, b)
		}
		near(t, "bias", b.Bias, bias[i], 1e-8)
		near(t, "t", b.T, ts[i], 1e-8)
	}
	for _, row := range decode[[][]float64](t, e.Expected, "band") {
		near(t, "fitted bias", r.Intercept+r.Slope*row[0], row[1], 1e-8)
		near(t, "band", r.Fit.Band(row[0]), row[2], 1e-8)
	}
}

// Source: NIST StRD Norris, certified values (anova_regression.json), by log relative error.
func TestLineNIST(t *testing.T) {
	e := references(t, "anova_regression.json", "Norris")[0]
	l, err := FitLine(decode[[]float64](t, e.Inputs, "x"), decode[[]float64](t, e.Inputs, "y"))
	if err != nil {
		t.Fatal(err)
	}
	coefficients, errors := decode[[]float64](t, e.Expected, "coefficients"), decode[[]float64](t, e.Expected, "standard_errors")
	for _, c := range []struct {
		name      string
		got, want float64
		digits    float64
	}{
		{"intercept", l.Intercept, coefficients[0], 11},
		{"slope", l.Slope, coefficients[1], 13},
		{"se of the intercept", l.SEIntercept, errors[0], 12},
		{"se of the slope", l.SESlope, errors[1], 12},
		{"residual sd", l.S, decode[float64](t, e.Expected, "residual_sd"), 12},
		{"R2", *l.R2, decode[float64](t, e.Expected, "R2"), 13},
	} {
		if lre := -math.Log10(math.Abs(c.got-c.want) / math.Abs(c.want)); lre < c.digits {
			t.Errorf("%s: %.15g, certified %.15g: log relative error %.1f, want %.0f", c.name, c.got, c.want, lre, c.digits)
		}
	}
}

// An exact line has no residual to test against; equal biases have no R2; one reading at a reference has no t.
func TestUndefinedLinearity(t *testing.T) {
	r, err := Linearity([]Comparison{{1, 1.1}, {2, 2.2}, {3, 3.3}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "slope", r.Slope, 0.1, 1e-12)
	if math.Abs(r.Intercept) > 1e-15 || r.PSlope != nil || r.PIntercept != nil {
		t.Errorf("exact line: %+v", r)
	}
	near(t, "r2", r.R2, 1, 1e-15)
	if b := r.Bias[0]; b.T != nil || b.P != nil || b.N != 1 {
		t.Errorf("one reading: %+v", b)
	}
	r, err = Linearity([]Comparison{{1, 1.5}, {2, 2.5}, {2, 2.5}, {8, 8.5}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Slope != 0 || r.Intercept != 0.5 || r.R2 != nil || r.PSlope != nil {
		t.Errorf("equal biases: %+v", r)
	}
}

// A bias that changes, one that does not, one that lies on a line exactly, and none: also where rounding shows one.
func TestLinearityVerdict(t *testing.T) {
	for _, c := range []struct {
		c    []Comparison
		want Finding
	}{
		{[]Comparison{{1, 1.01}, {1, 1.02}, {5, 5.06}, {5, 5.05}, {9, 9.1}, {9, 9.09}}, BiasChanges},
		{[]Comparison{{1, 1.1}, {2, 2.2}, {3, 3.3}}, ChangesExactly},
		{[]Comparison{{1, 1.03}, {1, 1.02}, {5, 5.02}, {5, 5.03}, {9, 9.03}, {9, 9.02}}, BiasConstant},
		{[]Comparison{{1, 1.01}, {1, 0.99}, {5, 5.01}, {5, 4.99}, {9, 9.01}, {9, 8.99}}, NoBias},
		{[]Comparison{{0.1 + 0.2, 0.3}, {1, 1}, {3, 3}}, NoBias},
	} {
		r, err := Linearity(c.c)
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Verdict(); got != c.want {
			t.Errorf("%v: %q, want %q", c.c, got, c.want)
		}
	}
}

func TestLinearityErrors(t *testing.T) {
	for _, c := range []struct {
		c    []Comparison
		want string
	}{
		{nil, "found 0 and 0"},
		{[]Comparison{{1, 1}, {1, 2}, {1, 3}}, "at least 2 different references and 3 readings; found 1 and 3"},
		{[]Comparison{{1, 1}, {2, 2}}, "found 2 and 2"},
		{[]Comparison{{1, 1}, {math.NaN(), 2}, {3, 3}}, "row 2: reference: found NaN"},
		{[]Comparison{{1, 1}, {2, math.Inf(1)}, {3, 3}}, "row 2: value: found +Inf"},
		{[]Comparison{{1, 1}, {1e300, 2}, {3, 3}}, "too large"},
		{[]Comparison{{0, 1}, {1e-300, 2}, {0, 3}}, "two different x"},
	} {
		if _, err := Linearity(c.c); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v, want %q", c.c, err, c.want)
		}
	}
}

// Source: JCGM 100:2008, H.3, a thermometer's calibration by a straight line (anova_regression.json). The uncertainty at 30 °C
// follows from those of the line's height at the mean and of its slope, which are not correlated.
func TestLineOfAThermometer(t *testing.T) {
	e := references(t, "anova_regression.json", "thermometer")[0]
	from := decode[float64](t, e.Inputs, "t0")
	x := decode[[]float64](t, e.Inputs, "t_degC")
	for i := range x {
		x[i] -= from
	}
	l, err := FitLine(x, decode[[]float64](t, e.Inputs, "correction_degC"))
	if err != nil {
		t.Fatal(err)
	}
	at := decode[float64](t, e.Inputs, "predict_at") - from
	u := math.Hypot(l.S/math.Sqrt(float64(l.N)), (at-l.MeanX)*l.SESlope)
	for key, got := range map[string]float64{"y1": l.Intercept, "s_y1": l.SEIntercept, "y2": l.Slope, "s_y2": l.SESlope, "s": l.S,
		"prediction": l.Intercept + at*l.Slope, "u_prediction": u} {
		near(t, key, got, decode[float64](t, e.Expected, key), 1e-8)
	}
	near(t, "half band", l.Band(at), tQuantile(0.95, decode[float64](t, e.Expected, "df"))*u, 1e-12)
}
