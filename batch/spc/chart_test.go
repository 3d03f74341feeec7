package spc

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
)

const chartsFile = "control_charts.json"

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
func TestIndividuals(t *testing.T) {
	for _, e := range references(t, chartsFile, "Individuals and moving range") {
		c, err := Individuals(decode[[]float64](t, e.Inputs, "x"), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for name, got := range map[string]float64{"I_CL": c.Center, "I_LCL": c.Lower, "I_UCL": c.Upper, "sigma_from_mean_mr": c.Sigma,
			"MR_CL": c.SpreadCenter, "MR_UCL": c.SpreadUpper, "MR_LCL": c.SpreadLower} {
			near(t, name, got, decode[float64](t, e.Expected, name), 1e-9)
		}
		all(t, "moving ranges", of(c.Spread, valueOf), decode[[]float64](t, e.Expected, "moving_ranges"), 1e-9)
		if c.Spread[0].Index != 2 || len(c.Points) != 10 || c.Points[9].Index != 10 {
			t.Errorf("moving ranges begin at %d, points end at %d", c.Spread[0].Index, c.Points[9].Index)
		}
	}
}

// Sources: D. C. Montgomery, Introduction to Statistical Quality Control, Example 6.1; NIST data set CCXBAR.DAT.
func TestSubgroupMeans(t *testing.T) {
	for _, e := range references(t, chartsFile, "X-bar and R / X-bar and s") {
		groups := decode[[][]float64](t, e.Inputs, "subgroups")
		for _, kind := range []struct {
			chart                                    func([][]float64, Options) (Chart, error)
			method, outside, spreadOutside, mean, of string
			upper, lower                             string
		}{
			{XbarR, "R_method", "X_by_R_method", "R", "mean_range", "subgroup_ranges", "R_UCL", "R_LCL"},
			{XbarS, "s_method", "X_by_s_method", "s", "mean_sd", "subgroup_sds", "s_UCL", "s_LCL"},
		} {
			c, err := kind.chart(groups, Options{})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "centre", c.Center, decode[float64](t, e.Expected, "grand_mean"), 1e-12)
			near(t, "spread's centre", c.SpreadCenter, decode[float64](t, e.Expected, kind.mean), 1e-9)
			for name, got := range map[string]float64{"sigma": c.Sigma, "X_UCL": c.Upper, "X_LCL": c.Lower, kind.upper: c.SpreadUpper, kind.lower: c.SpreadLower} {
				near(t, name, got, decode[float64](t, e.Expected, kind.method, name), 1e-9)
			}
			all(t, "means", of(c.Points, valueOf), decode[[]float64](t, e.Expected, "subgroup_means"), 1e-12)
			all(t, kind.of, of(c.Spread, valueOf), decode[[]float64](t, e.Expected, kind.of), 1e-9)
			if got, want := fired(c.Points, 1), decode[[]int](t, e.Expected, "subgroups_outside", kind.outside); !reflect.DeepEqual(got, want) {
				t.Errorf("%s: subgroups outside %v, want %v", kind.method, got, want)
			}
			if got, want := fired(c.Spread, 1), decode[[]int](t, e.Expected, "subgroups_outside", kind.spreadOutside); !reflect.DeepEqual(got, want) {
				t.Errorf("%s: spreads outside %v, want %v", kind.method, got, want)
			}
		}
	}
}

// Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.3.1 and 6.3.3.2; K. Ishikawa, Guide to Quality Control (1982).
func TestProportionsAndRates(t *testing.T) {
	spread := func(v float64, n int) []float64 {
		x := make([]float64, n)
		for i := range x {
			x[i] = v
		}
		return x
	}
	for _, c := range []struct {
		start, counts, sizes, values, center string
		constant                             bool
		chart                                func(counts, sizes []float64, o Options) (Chart, error)
	}{
		{"p chart and np chart", "defectives", "n", "proportions", "p_bar", true, P},
		{"p chart with unequal", "defectives", "n", "proportions", "p_bar", false, P},
		{"c chart", "counts", "area", "rates", "u_bar", true, U},
		{"u chart", "counts", "area", "rates", "u_bar", false, U},
	} {
		for _, e := range references(t, chartsFile, c.start) {
			counts := decode[[]float64](t, e.Inputs, c.counts)
			var sizes, upper, lower []float64
			if c.constant {
				sizes = spread(decode[float64](t, e.Inputs, c.sizes), len(counts))
				upper = spread(decode[float64](t, e.Expected, "UCL"), len(counts))
				lower = spread(decode[float64](t, e.Expected, "LCL"), len(counts))
			} else {
				sizes = decode[[]float64](t, e.Inputs, c.sizes)
				upper, lower = decode[[]float64](t, e.Expected, "UCL_by_subgroup"), decode[[]float64](t, e.Expected, "LCL_by_subgroup")
			}
			got, err := c.chart(counts, sizes, Options{})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "centre", got.Center, decode[float64](t, e.Expected, c.center), 1e-12)
			all(t, "values", of(got.Points, valueOf), decode[[]float64](t, e.Expected, c.values), 1e-12)
			all(t, "upper", of(got.Points, func(p Point) float64 { return p.Upper }), upper, 1e-9)
			all(t, "lower", of(got.Points, func(p Point) float64 { return p.Lower }), lower, 1e-9)
			if outside := decode[[]int](t, e.Expected, "subgroups_outside"); !reflect.DeepEqual(fired(got.Points, 1), outside) {
				t.Errorf("%s: outside %v, want %v", e.Name, fired(got.Points, 1), outside)
			}
			if c.constant == math.IsNaN(got.Upper) {
				t.Errorf("%s: the common upper limit is %v", e.Name, got.Upper)
			}
			for _, test := range []int{5, 6, 7, 8} {
				if !c.constant && len(fired(got.Points, test)) > 0 {
					t.Errorf("%s: test %d fires where limits vary", e.Name, test)
				}
			}
		}
	}
}

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.
func TestEWMA(t *testing.T) {
	for _, e := range references(t, chartsFile, "EWMA, lambda") {
		c, err := EWMA(decode[[]float64](t, e.Inputs, "x"), Average{decode[float64](t, e.Inputs, "lambda"), decode[float64](t, e.Inputs, "L")},
			Options{Center: point(decode[float64](t, e.Inputs, "start")), Sigma: point(decode[float64](t, e.Inputs, "sigma"))})
		if err != nil {
			t.Fatal(err)
		}
		all(t, "average", of(c.Points, valueOf), decode[[]float64](t, e.Expected, "ewma"), 1e-9)
		all(t, "upper", of(c.Points, func(p Point) float64 { return p.Upper }), decode[[]float64](t, e.Expected, "exact_UCL_by_point"), 1e-9)
		all(t, "lower", of(c.Points, func(p Point) float64 { return p.Lower }), decode[[]float64](t, e.Expected, "exact_LCL_by_point"), 1e-9)
		if got, want := fired(c.Points, 1), decode[[]int](t, e.Expected, "outside_exact"); !reflect.DeepEqual(got, want) {
			t.Errorf("outside %v, want %v", got, want)
		}
	}
}

// Of subgroups, the average of the means: the same as that of the means as single values with sigma/sqrt(n).
func TestEWMAOfSubgroupsIsThatOfTheirMeans(t *testing.T) {
	e := references(t, chartsFile, "X-bar and R / X-bar and s, wafer")[0]
	c, err := EWMAOfSubgroups(decode[[][]float64](t, e.Inputs, "subgroups"), Average{0.2, 3}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sigma", c.Sigma, decode[float64](t, e.Expected, "R_method", "sigma"), 1e-9)
	near(t, "centre", c.Center, decode[float64](t, e.Expected, "grand_mean"), 1e-12)
	single, err := EWMA(decode[[]float64](t, e.Expected, "subgroup_means"), Average{0.2, 3}, Options{Center: &c.Center, Sigma: point(c.Sigma / math.Sqrt(5))})
	if err != nil {
		t.Fatal(err)
	}
	all(t, "average", of(c.Points, valueOf), of(single.Points, valueOf), 1e-12)
	all(t, "upper", of(c.Points, func(p Point) float64 { return p.Upper }), of(single.Points, func(p Point) float64 { return p.Upper }), 1e-12)
}

// Sources: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3; J. M. Lucas and R. B. Crosier, Technometrics 24 (1982).
func TestCUSUM(t *testing.T) {
	for _, e := range references(t, chartsFile, "Tabular CUSUM") {
		const sigma = 0.635 // so that k = 0.5 gives the K of the source
		k, h := decode[float64](t, e.Inputs, "K"), decode[float64](t, e.Inputs, "H")
		s := Sums{K: k / sigma, H: h / sigma}
		if e.Inputs["head_start"] != nil {
			s.HeadStart = decode[float64](t, e.Inputs, "head_start") / h
		}
		target := decode[float64](t, e.Inputs, "target")
		c, err := CUSUM(decode[[]float64](t, e.Inputs, "x"), s, Options{Center: &target, Sigma: point(sigma)})
		if err != nil {
			t.Fatal(err)
		}
		high, low := decode[[]float64](t, e.Expected, "C_plus"), decode[[]float64](t, e.Expected, "C_minus")
		for i, p := range c.Points {
			if math.Abs(p.High-high[i]) > 1e-9 || math.Abs(p.Low-low[i]) > 1e-9 {
				t.Errorf("%s: point %d: high %v, low %v; want %v, %v", e.Name, i+1, p.High, p.Low, high[i], low[i])
			}
		}
		if got, want := fired(c.Points, 1), decode[[]int](t, e.Expected, "signals_high"); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: signals %v, want %v", e.Name, got, want)
		}
		signals := c.Signals()
		runs := decode[[]int](t, e.Expected, "N_plus") // points since the sum left zero
		if len(signals) != 1 || signals[0].Side != 1 || signals[0].At != 14 || signals[0].To != 20 || signals[0].From != 14-runs[13]+1 {
			t.Errorf("%s: signals %+v", e.Name, signals)
		}
	}
}

// Limits from a base stay what they are whatever comes later, and moving ranges that reach out of the base count for nothing.
func TestLimitsOfABaseAreFrozen(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	x := make([]float64, 60)
	for i := range x {
		x[i] = 10 + rng.NormFloat64()
		if i >= 30 {
			x[i] += 100
		}
	}
	alone, err := Individuals(x[5:30], Options{})
	if err != nil {
		t.Fatal(err)
	}
	frozen, err := Individuals(x, Options{Base: Base{6, 30}})
	if err != nil {
		t.Fatal(err)
	}
	if alone.Center != frozen.Center || alone.Sigma != frozen.Sigma || alone.Upper != frozen.Upper || alone.SpreadUpper != frozen.SpreadUpper || frozen.Base != (Base{6, 30}) {
		t.Errorf("frozen %v ± %v of %v, alone %v ± %v", frozen.Center, frozen.Sigma, frozen.Base, alone.Center, alone.Sigma)
	}
	if got := fired(frozen.Points, 1); len(got) != 30 || got[0] != 31 {
		t.Errorf("points outside: %v, want 31 to 60", got)
	}
	given, err := Individuals(x, Options{Center: point(10.0), Sigma: point(1.0)})
	if err != nil || given.Upper != 13 || given.Lower != 7 || given.Base != (Base{}) {
		t.Errorf("given limits %v to %v, base %v, %v", given.Lower, given.Upper, given.Base, err)
	}
	near(t, "centre of the moving ranges for a given sigma", given.SpreadCenter, 1.1283791670955126, 1e-12)
	counts, sizes := []float64{1, 2, 3, 50}, []float64{100, 100, 100, 100}
	p, err := P(counts, sizes, Options{Base: Base{1, 3}})
	if err != nil || p.Center != 0.02 {
		t.Errorf("p of the base %v, %v; want 0.02", p.Center, err)
	}
}

// Equal values give no signals: the centre line is exactly their value.
func TestEqualValuesGiveNoSignal(t *testing.T) {
	x := make([]float64, 40)
	for i := range x {
		x[i] = 0.1
	}
	c, err := Individuals(x, Options{})
	if err != nil || c.Sigma != 0 || c.Center != 0.1 || len(c.Signals()) != 0 || len(c.SpreadSignals()) != 0 {
		t.Errorf("centre %v, sigma %v, signals %v, error %v", c.Center, c.Sigma, c.Signals(), err)
	}
}

// The zero designs are the usual ones.
func TestZeroDesignsAreTheUsualOnes(t *testing.T) {
	x := []float64{1, 2, 3, 2, 1, 5, 9}
	a, err := EWMA(x, Average{}, Options{})
	b, err2 := EWMA(x, Average{0.2, 3}, Options{})
	if err != nil || err2 != nil || !reflect.DeepEqual(a.Points, b.Points) {
		t.Errorf("EWMA: %v, %v", err, err2)
	}
	a, err = CUSUM(x, Sums{HeadStart: 0.5}, Options{})
	b, err2 = CUSUM(x, Sums{0.5, 5, 0.5}, Options{})
	if err != nil || err2 != nil || !reflect.DeepEqual(of(a.Points, func(p Point) float64 { return p.High }), of(b.Points, func(p Point) float64 { return p.High })) {
		t.Errorf("CUSUM: %v, %v", err, err2)
	}
}

func TestChartsSayWhatIsWrong(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	ten := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	pairs := [][]float64{{1, 2}, {3, 4}}
	single := func(x []float64, o Options) error { _, err := Individuals(x, o); return err }
	for _, c := range []struct {
		err   error
		words string
	}{
		{single(nil, Options{}), "found 0 values; needed: at least 1"},
		{single([]float64{1}, Options{}), "found 1 value; needed: at least 2"},
		{single([]float64{1, nan}, Options{}), "value 2: found NaN"},
		{single([]float64{1, 2, -inf}, Options{}), "value 3: found -Inf"},
		{single([]float64{1, 1e200}, Options{}), "value 2: found 1e+200"},
		{single(ten, Options{Base: Base{0, 5}}), "base: found 0:5; allowed: from 1 to the 10"},
		{single(ten, Options{Base: Base{3, 11}}), "base: found 3:11"},
		{single(ten, Options{Base: Base{4, 3}}), "base: found 4:3"},
		{single(ten, Options{Base: Base{4, 4}}), "found 1 value; needed: at least 2"},
		{single(ten, Options{Sigma: point(0.0)}), "sigma: found 0"},
		{single(ten, Options{Sigma: &nan}), "sigma: found NaN"},
		{single(ten, Options{Center: &inf}), "center: found +Inf"},
		{second(XbarR(nil, Options{})), "found 0 subgroups"},
		{second(XbarR([][]float64{{1}}, Options{})), "subgroup 1: found 1"},
		{second(XbarS([][]float64{{1, 2}, {1, 2, 3}}, Options{})), "subgroup 2: found 3 of its values; allowed: 2, as in the first"},
		{second(XbarS([][]float64{{1, 2}, {1, nan}}, Options{})), "value 4: found NaN"},
		{second(XbarS(pairs, Options{Base: Base{1, 3}})), "base: found 1:3; allowed: from 1 to the 2"},
		{second(P(nil, nil, Options{})), "found 0 counts"},
		{second(P([]float64{1}, nil, Options{})), "found 1 counts and 0 sizes"},
		{second(P([]float64{3}, []float64{2}, Options{})), "count 1: found 3 of 2 items"},
		{second(P([]float64{1.5}, []float64{2}, Options{})), "count 1: found 1.5; allowed: a whole number"},
		{second(P([]float64{1}, []float64{2.5}, Options{})), "size 1: found 2.5 items; allowed: a whole number"},
		{second(U([]float64{0.5}, []float64{2.5}, Options{})), "count 1: found 0.5; allowed: a whole number"},
		{second(U([]float64{-1}, []float64{2}, Options{})), "count 1: found -1"},
		{second(U([]float64{1}, []float64{0}, Options{})), "size 1: found 0"},
		{second(P([]float64{1}, []float64{2}, Options{Sigma: point(1.0)})), "sigma: is not used"},
		{second(P([]float64{1}, []float64{2}, Options{Center: point(1.5)})), "center: found 1.5"},
		{second(EWMA(ten, Average{0, 3}, Options{})), "lambda: found 0"},
		{second(EWMA(ten, Average{1.5, 3}, Options{})), "lambda: found 1.5"},
		{second(EWMA(ten, Average{0.2, nan}, Options{})), "width: found NaN"},
		{second(EWMAOfSubgroups(pairs, Average{0.2, -1}, Options{})), "width: found -1"},
		{second(CUSUM(ten, Sums{K: -1, H: 5}, Options{})), "k: found -1"},
		{second(CUSUM(ten, Sums{K: 0.5, H: 0}, Options{})), "h: found 0"},
		{second(CUSUM(ten, Sums{K: 0.5, H: 5, HeadStart: 1}, Options{})), "head start: found"},
		{second(runTestsAt(ten, 0, 0, 0)), "sigma: found 0"},
		{second(runTestsAt([]float64{nan}, 0, 1, 0)), "value 1: found NaN"},
		{second(ParseTests("1,9")), `tests: found "1,9"`},
		{second(ParseTests("")), `tests: found ""`},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.words) {
			t.Errorf("error %v, want one that says %q", c.err, c.words)
		}
	}
	var at ValueError
	if err := single([]float64{1, nan}, Options{}); !errors.As(err, &at) || at.Index != 2 {
		t.Errorf("%v does not carry the value's place", err)
	}
}

func second[T any](_ T, err error) error { return err }
