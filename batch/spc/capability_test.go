package spc

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

const capabilityFile = "capability.json"

// at is a series of n values with exactly this mean and this standard deviation: half of it on each side.
func at(mean, sd float64, n int) []float64 {
	x := make([]float64, n)
	step := sd * math.Sqrt(float64(n-1)/float64(n))
	for i := range x {
		x[i] = mean + step*float64(1-2*(i%2))
	}
	return x
}

// Sources: D. C. Montgomery, Introduction to Statistical Quality Control, Example 6.1 continued; NIST data set CCXBAR.DAT;
// intervals by chi-square and A. F. Bissell, Applied Statistics 39 (1990). The intervals of the source stand about the index
// from the plain pooled sigma; ours about the index shown, which is larger or smaller by the factor c4 alone.
func TestCapabilityOfSubgroups(t *testing.T) {
	for _, e := range references(t, capabilityFile, "Indices from subgrouped data") {
		groups := decode[[][]float64](t, e.Inputs, "subgroups")
		lower, upper, target := decode[float64](t, e.Inputs, "LSL"), decode[float64](t, e.Inputs, "USL"), decode[float64](t, e.Inputs, "target")
		r, err := CapabilityOfSubgroups(groups, CapabilityOptions{Limits: Limits{&lower, &upper}, Target: &target})
		if err != nil {
			t.Fatal(err)
		}
		const within = "within, pooled and unbiased (divided by c4 of df+1)"
		near(t, "sigma inside subgroups", r.SigmaWithin, decode[float64](t, e.Expected, within, "sigma"), 1e-9)
		near(t, "cp", r.CP, decode[float64](t, e.Expected, within, "Cp"), 1e-9)
		near(t, "cpk", r.CPK, decode[float64](t, e.Expected, within, "Cpk"), 1e-9)
		near(t, "sigma of all values", r.SigmaOverall, decode[float64](t, e.Expected, "overall", "sigma"), 1e-9)
		near(t, "pp", r.PP, decode[float64](t, e.Expected, "overall", "Cp"), 1e-9)
		near(t, "ppk", r.PPK, decode[float64](t, e.Expected, "overall", "Cpk"), 1e-9)
		near(t, "cpm", r.CPM, decode[float64](t, e.Expected, "overall", "Cpm"), 1e-9)
		near(t, "expected per million", r.Expected, decode[float64](t, e.Expected, "overall", "fraction", "total_ppm"), 1e-9)
		if got, want := r.Below+r.Above, decode[int](t, e.Expected, "observed_outside"); got != want {
			t.Errorf("%d counted outside, want %d", got, want)
		}
		all(t, "interval of pp", r.CI.PP[:], decode[[]float64](t, e.Expected, "Pp 95% interval, df=N-1"), 1e-9)
		all(t, "interval of ppk", r.CI.PPK[:], decode[[]float64](t, e.Expected, "Ppk 95% interval, df=N-1, normal approximation"), 1e-9)
		if want := float64(len(groups) * (len(groups[0]) - 1)); r.DFWithin != want {
			t.Errorf("%v degrees of freedom within, want %v", r.DFWithin, want)
		}
		pooled := decode[float64](t, e.Expected, "within, pooled", "Cp")
		for i, end := range decode[[]float64](t, e.Expected, "Cp (pooled) 95% interval, df=m(n-1)") {
			near(t, "interval of cp, over the index", r.CI.CP[i] / *r.CP, end/pooled, 1e-9)
		}
		index := decode[float64](t, e.Expected, "within, pooled", "Cpk")
		plain := placeInterval(&index, r.N, r.DFWithin, 0.95)
		all(t, "interval of the plain cpk", plain[:], decode[[]float64](t, e.Expected, "Cpk (pooled) 95% interval, df=m(n-1), normal approximation"), 1e-9)
		if own := placeInterval(r.CPK, r.N, r.DFWithin, 0.95); *own != *r.CI.CPK {
			t.Errorf("interval of cpk %v, want %v", *r.CI.CPK, *own)
		}
	}
}

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6.
func TestIndicesFromMeanAndDeviation(t *testing.T) {
	e := references(t, capabilityFile, "Cp, Cpk, k from mean")[0]
	lower, upper := decode[float64](t, e.Inputs, "LSL"), decode[float64](t, e.Inputs, "USL")
	r, err := Capability(at(decode[float64](t, e.Inputs, "mean"), decode[float64](t, e.Inputs, "sd"), 50), CapabilityOptions{Limits: Limits{&lower, &upper}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "pp", r.PP, decode[float64](t, e.Expected, "Cp"), 1e-9)
	near(t, "ppk", r.PPK, decode[float64](t, e.Expected, "Cpk"), 1e-9)
	near(t, "expected per million", r.Expected, decode[float64](t, e.Expected, "total_ppm"), 1e-9)
	if r.DFWithin != 49 {
		t.Errorf("%v degrees of freedom of a sigma from moving ranges, want n - 1", r.DFWithin)
	}

	e = references(t, capabilityFile, "Centred process")[0]
	for _, row := range decode[[][]float64](t, e.Expected, "rows") {
		both := Limits{point(-3 * row[0]), point(3 * row[0])}
		near(t, "per million outside both limits", both.expected(0, 1), row[1], 1e-9)
		near(t, "per million above one", Limits{Upper: both.Upper}.expected(0, 1), row[2], 1e-9)
		near(t, "per million below one", Limits{Lower: both.Lower}.expected(0, 1), row[2], 1e-9)
	}
}

func TestOneLimitHasNoCp(t *testing.T) {
	e := references(t, capabilityFile, "One-sided upper")[0]
	upper := decode[float64](t, e.Inputs, "USL")
	r, err := Capability(at(decode[float64](t, e.Inputs, "mean"), decode[float64](t, e.Inputs, "sd"), 40), CapabilityOptions{Limits: Limits{Upper: &upper}, Target: point(3.0)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ppk", r.PPK, decode[float64](t, e.Expected, "Cpk"), 1e-9)
	if r.CP != nil || r.PP != nil || r.CI.CP != nil || r.CI.PP != nil || r.CPM != nil || r.CPK == nil || r.CI.CPK == nil {
		t.Errorf("with one limit: cp %v, pp %v, cpm %v, cpk %v", r.CP, r.PP, r.CPM, r.CPK)
	}
}

// Source: A. F. Bissell, Applied Statistics 39 (1990) 331-340, and chi-square; at several n and indices.
func TestIntervalsOfIndices(t *testing.T) {
	e := references(t, capabilityFile, "Confidence intervals for Cp")[0]
	for _, row := range decode[[][]float64](t, e.Expected, "rows") {
		n := int(row[1])
		c, k := spreadInterval(&row[0], float64(n-1), 0.95), placeInterval(&row[0], n, float64(n-1), 0.95)
		all(t, "cp", c[:], row[2:4], 1e-9)
		all(t, "cpk", k[:], row[4:6], 1e-9)
	}
}

// Sources: ISO 22514-2:2017, percentile method, on known distributions; H. Rinne, The Weibull Distribution (2009), p. 338, fitted.
func TestPercentileMethod(t *testing.T) {
	e := references(t, capabilityFile, "Percentile indices, known distribution: lognormal")[0]
	d := Lognormal{0, 0.5}
	z := distuv.UnitNormal.Quantile(outer)
	low, median, high := d.quantile(z), d.quantile(0), d.quantile(-z)
	near(t, "lognormal, low", low, decode[float64](t, e.Expected, "q_low"), 1e-8)
	near(t, "lognormal, high", high, decode[float64](t, e.Expected, "q_high"), 1e-8)
	pp, ppk := Limits{point(0.1), point(5.0)}.Indices(low, median, high)
	near(t, "lognormal, pp", pp, decode[float64](t, e.Expected, "Pp"), 1e-8)
	near(t, "lognormal, ppk", ppk, decode[float64](t, e.Expected, "Ppk"), 1e-8)

	e = references(t, capabilityFile, "Percentile indices, known distribution: Weibull")[0]
	w := Weibull{1.5, 10}
	_, ppk = Limits{Upper: point(40.0)}.Indices(0, w.quantile(0.5), w.quantile(outer))
	near(t, "Weibull, high", w.quantile(outer), decode[float64](t, e.Expected, "q_high"), 1e-8)
	near(t, "Weibull, ppk", ppk, decode[float64](t, e.Expected, "Ppk"), 1e-8)

	e = references(t, capabilityFile, "Percentile indices, Weibull fitted")[0]
	x := decode[[]float64](t, e.Inputs, "x")
	w, err := FitWeibull(x)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shape", w.Shape, decode[float64](t, e.Expected, "shape"), 1e-9)
	near(t, "scale", w.Scale, decode[float64](t, e.Expected, "scale"), 1e-9)
	limits := Limits{point(decode[float64](t, e.Inputs, "LSL")), point(decode[float64](t, e.Inputs, "USL"))}
	r, err := Capability(x, CapabilityOptions{Limits: limits, Distribution: WeibullDistribution})
	if err != nil || r.Percentile == nil {
		t.Fatal(r.Percentile, err)
	}
	near(t, "fitted, low", r.Percentile.Low, decode[float64](t, e.Expected, "q_low"), 1e-9)
	near(t, "fitted, median", r.Percentile.Median, decode[float64](t, e.Expected, "median"), 1e-9)
	near(t, "fitted, high", r.Percentile.High, decode[float64](t, e.Expected, "q_high"), 1e-9)
	near(t, "fitted, pp", r.Percentile.PP, decode[float64](t, e.Expected, "Pp"), 1e-9)
	near(t, "fitted, ppk", r.Percentile.PPK, decode[float64](t, e.Expected, "Ppk"), 1e-9)

	// Lognormal by maximum likelihood: mean and standard deviation (divisor n) of the logarithms, by hand for e, e^2, e^6.
	l, err := FitLognormal([]float64{math.E, math.Exp(2), math.Exp(6)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mu", l.Mu, 3, 1e-14)
	near(t, "sigma", l.Sigma, math.Sqrt(14.0/3), 1e-14)
}

// The better fitting distribution is found from samples of each, and neither from two clusters far apart.
func TestBetterFittingDistributionIsTaken(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 22514))
	limits := Limits{Upper: point(100.0)}
	x := make([]float64, 400)
	for _, c := range []struct {
		draw func() float64
		want Distribution
	}{
		{func() float64 { return math.Exp(0.6 * rng.NormFloat64()) }, LognormalDistribution},
		{func() float64 { return math.Pow(rng.ExpFloat64(), 1/1.8) }, WeibullDistribution},
		{func() float64 { return 1 + 5*float64(rng.IntN(2)) + 0.1*rng.NormFloat64() }, ""},
		{func() float64 { return rng.NormFloat64() }, ""}, // not above 0
	} {
		for i := range x {
			x[i] = c.draw()
		}
		r, err := Capability(x, CapabilityOptions{Limits: limits})
		switch {
		case err != nil:
			t.Error(err)
		case c.want == "" && r.Percentile != nil:
			t.Errorf("%s was taken with p = %v, want none", r.Percentile.Distribution, r.Percentile.P)
		case c.want != "" && (r.Percentile == nil || r.Percentile.Distribution != c.want || r.Percentile.PP != nil || r.Percentile.PPK == nil):
			t.Errorf("%+v, want %s with ppk alone", r.Percentile, c.want)
		}
	}
	if r, err := Capability([]float64{1, 2, 3}, CapabilityOptions{Limits: limits, Distribution: LognormalDistribution}); err != nil || r.Percentile == nil || r.Normality != nil {
		t.Errorf("three values with a distribution chosen: %+v, %v", r, err)
	}
}

// Equal values: sigma is exactly 0 and every index undefined, as JSON null.
func TestCapabilityOfEqualValuesIsUndefined(t *testing.T) {
	x := make([]float64, 30)
	for i := range x {
		x[i] = 0.1
	}
	r, err := Capability(x, CapabilityOptions{Limits: Limits{point(0.0), point(1.0)}})
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(r)
	want := `{"n":30,"mean":0.1,"sigma_within":0,"sigma_overall":0,"cp":null,"cpk":null,"pp":null,"ppk":null,` +
		`"ci":{"cp":null,"cpk":null,"pp":null,"ppk":null},"normality":null,"percentile":null,"expected_per_million":null}`
	if string(text) != want || err != nil {
		t.Errorf("%s, %v\nwant %s", text, err, want)
	}
}

func TestCapabilitySaysWhatIsWrong(t *testing.T) {
	two := Limits{point(0.0), point(10.0)}
	x := []float64{1, 2, 3, 4}
	single := func(x []float64, o CapabilityOptions) error { _, err := Capability(x, o); return err }
	for _, c := range []struct {
		err   error
		words string
	}{
		{single(x, CapabilityOptions{}), "lower: there is no limit"},
		{single(x[:1], CapabilityOptions{Limits: two}), "found 1 value; needed: at least 2"},
		{single([]float64{1, math.NaN()}, CapabilityOptions{Limits: two}), "value 2: found NaN"},
		{single(x, CapabilityOptions{Limits: Limits{point(2.0), point(2.0)}}), "lower: found 2; allowed: below"},
		{single(x, CapabilityOptions{Limits: Limits{Upper: point(math.NaN())}}), "upper: found NaN"},
		{single(x, CapabilityOptions{Limits: two, Target: point(math.Inf(1))}), "target: found +Inf"},
		{single(x, CapabilityOptions{Limits: two, Confidence: 95}), "confidence: found 95"},
		{single(x, CapabilityOptions{Limits: two, Distribution: "gamma"}), `distribution: found "gamma"`},
		{single([]float64{1, 0, 2}, CapabilityOptions{Limits: two, Distribution: WeibullDistribution}), "value 2: found 0; allowed: above 0"},
		{second(CapabilityOfSubgroups([][]float64{{1}, {2}}, CapabilityOptions{Limits: two})), "every subgroup holds one value"},
		{second(CapabilityOfSubgroups([][]float64{{1, 2}, {}}, CapabilityOptions{Limits: two})), "subgroup 2: found no values"},
		{second(AndersonDarling(x)), "found 4 values; needed: at least 8"},
		{second(AndersonDarling(make([]float64, 9))), "all values are equal"},
		{second(FitWeibull([]float64{2, 2})), "all values are equal"},
		{second(FitLognormal([]float64{2})), "found 1 value"},
		{second(Summarize(nil)), "found 0 values"},
		{second(RolledYield(nil)), "found 0 steps"},
		{second(RolledYield([]Step{{2, 1}, {1, 2}})), "step 2: found 2 passed of 1"},
	} {
		if c.err == nil || !strings.Contains(c.err.Error(), c.words) {
			t.Errorf("error %v, want one that says %q", c.err, c.words)
		}
	}
}

// The verdict at the edges of its rule.
func TestCapabilityVerdict(t *testing.T) {
	by := func(basis Basis, index, low, high float64) Performance {
		return Performance{Basis: basis, Index: &index, Low: low, High: high}
	}
	none := Performance{Basis: ByCount, Low: 0.9, High: math.Inf(1)}
	clear := none
	clear.Low = 1.33
	for _, c := range []struct {
		r    CapabilityResult
		want Finding
		more []Finding
	}{
		{CapabilityResult{N: 25}, NoSpread, nil},
		{CapabilityResult{N: 24}, NoSpread, []Finding{FewValues}},
		{CapabilityResult{N: 25, SigmaWithin: 1, SigmaOverall: 1.2, Performance: by(ByNormal, 1.33, 1.33, 1.5)}, Fits, []Finding{NormalUntested}},
		{CapabilityResult{N: 25, SigmaWithin: 1, SigmaOverall: 1.21, Performance: by(ByNormal, 1.32, 1, 1.34), Normality: &Normality{P: 0.5}}, JustFits, []Finding{Unsettled, IsNormal, Wanders}},
		{CapabilityResult{N: 25, SigmaWithin: 1, SigmaOverall: 1, Performance: by(ByCount, 1, 0.99, 1.1)}, JustFits, []Finding{Unsettled, FitsNone}},
		{CapabilityResult{N: 25, SigmaWithin: 1, SigmaOverall: 1, Performance: by(ByPercentiles, 0.99, 0.9, 0.999)}, Misfits, []Finding{FitsAnother}},
		{CapabilityResult{N: 250, SigmaWithin: 1, SigmaOverall: 1, Performance: none}, Untold, []Finding{FitsNone}},
		{CapabilityResult{N: 250, SigmaWithin: 1, SigmaOverall: 1, Performance: clear}, Fits, []Finding{FitsNone}},
		{CapabilityResult{N: 250, Below: 250, SigmaWithin: 1, SigmaOverall: 1, Performance: Performance{Basis: ByCount, Low: math.Inf(-1), High: -0.9}}, Misfits, []Finding{FitsNone}},
	} {
		if answer, more := c.r.Verdict(); answer != c.want || !slices.Equal(more, c.more) {
			t.Errorf("%+v: %q, %q; want %q, %q", c.r, answer, more, c.want, c.more)
		}
	}
}
