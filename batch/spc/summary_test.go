package spc

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// digitsOfPi are the first n decimal digits of pi, by J. Machin's formula 16 arctan(1/5) - 4 arctan(1/239) in whole numbers.
func digitsOfPi(n int) []float64 {
	one := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n+10)), nil)
	arctan := func(x int64) *big.Int {
		sum, term := new(big.Int), new(big.Int).Div(one, big.NewInt(x))
		for k := int64(1); term.Sign() > 0; k += 2 {
			part := new(big.Int).Div(term, big.NewInt(k))
			if k%4 == 1 {
				sum.Add(sum, part)
			} else {
				sum.Sub(sum, part)
			}
			term.Div(term, big.NewInt(x*x))
		}
		return sum
	}
	pi := arctan(5)
	pi.Mul(pi, big.NewInt(16))
	pi.Sub(pi, new(big.Int).Mul(arctan(239), big.NewInt(4)))
	digits := make([]float64, n)
	for i, c := range pi.String()[:n] {
		digits[i] = float64(c - '0')
	}
	return digits
}

// Certified values of the NIST Statistical Reference Datasets, univariate summary statistics; the log relative error is the
// number of digits that agree.
func TestSummaryHasTheCertifiedDigits(t *testing.T) {
	for _, e := range references(t, "summary.json", "univariate") {
		var x []float64
		least := map[string]float64{"mean": 13, "sd": 12, "autocorr_lag1": 10}
		switch e.Name {
		case "univariate PiDigits":
			x = digitsOfPi(5000)
			x[956] = 3 // as in the distributed data set
		case "univariate NumAcc4": // stored as doubles the data allow 8.25 digits of the deviation
			x = []float64{10000000.2}
			for range 500 {
				x = append(x, 10000000.1, 10000000.3)
			}
			least = map[string]float64{"mean": 13, "sd": 8, "autocorr_lag1": 6}
		default:
			x = decode[[]float64](t, e.Inputs, "x")
		}
		s, err := Summarize(x)
		if err != nil || s.SD == nil || s.Autocorrelation == nil {
			t.Fatal(s, err)
		}
		for name, got := range map[string]float64{"mean": s.Mean, "sd": *s.SD, "autocorr_lag1": *s.Autocorrelation} {
			want := decode[float64](t, e.Expected, name)
			digits := 15.0
			if got != want {
				digits = min(15, -math.Log10(math.Abs(got-want)/math.Abs(want)))
			}
			t.Logf("%s: %s %.17g, log relative error %.1f", e.Name, name, got, digits)
			if digits < least[name] {
				t.Errorf("%s: %s %.17g, certified %.17g: %.1f digits, want %v", e.Name, name, got, want, digits, least[name])
			}
		}
	}
}

func TestSummaryOfFewAndEqualValues(t *testing.T) {
	one, err := Summarize([]float64{3})
	if err != nil || one.SD != nil || one.Autocorrelation != nil || one.Median != 3 || one.Min != 3 || one.Max != 3 {
		t.Errorf("one value: %+v, %v", one, err)
	}
	equal, err := Summarize([]float64{0.1, 0.1, 0.1})
	if err != nil || equal.SD == nil || *equal.SD != 0 || equal.Autocorrelation != nil || equal.Mean != 0.1 {
		t.Errorf("equal values: %+v, %v", equal, err)
	}
	four, err := Summarize([]float64{4, 1, 3, 2})
	if err != nil || four.Median != 2.5 || four.Min != 1 || four.Max != 4 {
		t.Errorf("four values: %+v, %v", four, err)
	}
}

// Source: R. B. D'Agostino and M. A. Stephens, Goodness-of-Fit Techniques (1986), Table 4.9; values computed with R and SciPy.
func TestAndersonDarling(t *testing.T) {
	for _, e := range references(t, capabilityFile, "Normality tests") {
		got, err := AndersonDarling(decode[[]float64](t, e.Inputs, "x"))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "A^2", got.Statistic, decode[float64](t, e.Expected, "anderson_darling_A2"), 1e-9)
		near(t, "p", got.P, decode[float64](t, e.Expected, "anderson_darling_p"), 1e-8)
	}
	// The points of that table for the adjusted statistic (from memory): 0.631, 0.752, 0.873, 1.035 at 10, 5, 2.5 and 1 %.
	for a, p := range map[float64]float64{0.631: 0.1, 0.752: 0.05, 0.873: 0.025, 1.035: 0.01} {
		near(t, "p of a point of the table", normalityP(a), p, 0.02)
	}
	for a, p := 0.05, 1.0; a < 20; a += 0.01 {
		next := normalityP(a)
		if next > p+1e-3 || next < 0 || next > 1 { // the pieces of the formula meet within a thousandth
			t.Fatalf("p(%.2f) = %v after %v", a, next, p)
		}
		p = next
	}
	// One far value among many: the tail's logarithm does not run off.
	x := append(at(0, 1e-9, 100_000), 1)
	if far, err := AndersonDarling(x); err != nil || math.IsInf(far.Statistic, 0) || math.IsNaN(far.Statistic) || far.P > 1e-20 {
		t.Errorf("far value: %+v, %v", far, err)
	}
}

// Normal and Weibull samples are called ill-fitting as often as the p says: at p < 0.05, one in twenty within four standard
// errors and a tenth (the formulas are approximate at small n).
func TestFitsAreRefusedAsOftenAsTheirPSays(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1986))
	const samples, n = 4000, 25
	normal, lognormal, weibull := 0, 0, 0
	x, y, w := make([]float64, n), make([]float64, n), make([]float64, n)
	for range samples {
		for i := range x {
			x[i], w[i] = rng.NormFloat64(), rng.ExpFloat64()
			y[i] = math.Exp(x[i])
		}
		test, err := AndersonDarling(x)
		if err != nil {
			t.Fatal(err)
		}
		l, err := fitLognormal(y)
		if err != nil {
			t.Fatal(err)
		}
		d, err := fitWeibull(w)
		if err != nil {
			t.Fatal(err)
		}
		for p, count := range map[*float64]*int{&test.P: &normal, &l.p: &lognormal, &d.p: &weibull} {
			if *p < 0.05 {
				*count++
			}
		}
	}
	allowed := 4*math.Sqrt(0.05*0.95/samples) + 0.005
	for name, count := range map[string]int{"Normal": normal, "lognormal": lognormal, "Weibull": weibull} {
		share := float64(count) / samples
		t.Logf("%s: p < 0.05 in %.4f of %d samples of %d", name, share, samples, n)
		if math.Abs(share-0.05) > allowed {
			t.Errorf("%s: p < 0.05 in %.4f of the samples, want 0.05 ± %.4f", name, share, allowed)
		}
	}
}

// Source: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions (1964), chapter 26, 40-digit values.
func TestNormalTails(t *testing.T) {
	e := references(t, "normal.json", "Standard normal: distribution")[0]
	for _, row := range decode[[][]float64](t, e.Expected, "rows") {
		near(t, "lower tail", normalTail(row[0])/row[1], 1, 1e-12)
		near(t, "upper tail", normalTail(-row[0])/row[2], 1, 1e-12)
		near(t, "logarithm", logNormalTail(row[0]), math.Log(row[1]), 1e-12)
	}
	// The series takes over at -30: it and the other agree there, and it goes on where the function underflows.
	near(t, "logarithm at -30", logNormalTail(math.Nextafter(-30, -31)), math.Log(normalTail(-30)), 1e-10)
	if far := logNormalTail(-1e5); math.Abs(far/-5e9-1) > 1e-6 {
		t.Errorf("logarithm of the tail at -1e5: %v", far)
	}
}

// Definitions of the Six Sigma literature, as in testdata/reference/statistics/yields.json.
func TestYields(t *testing.T) {
	e := references(t, "yields.json", "Rolled")[0]
	var steps []Step
	for _, s := range decode[[][2]int](t, e.Inputs, "steps (units in, passed first time)") {
		steps = append(steps, Step{s[0], s[1]})
	}
	y, err := RolledYield(steps)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range decode[[]float64](t, e.Expected, "first_pass_yield") {
		near(t, "first-pass yield", y.FirstPass[i], want, 1e-12)
	}
	near(t, "rolled yield", y.Rolled, decode[float64](t, e.Expected, "rolled_throughput_yield"), 1e-12)
	near(t, "defects per unit", y.DefectsPerUnit, decode[float64](t, e.Expected, "total_defects_per_unit_equivalent"), 1e-12)
	near(t, "normalized yield", y.Normalized, decode[float64](t, e.Expected, "normalised_yield"), 1e-12)

	e = references(t, "yields.json", "DPU")[0]
	near(t, "per million", PerMillion(decode[int](t, e.Inputs, "defects"), decode[int](t, e.Inputs, "units"), decode[int](t, e.Inputs, "opportunities_per_unit")),
		decode[float64](t, e.Expected, "DPMO"), 1e-12)

	none, err := RolledYield([]Step{{0, 0}})
	if err != nil || none.FirstPass[0] != nil || none.Rolled != nil || none.DefectsPerUnit != nil || none.Normalized != nil {
		t.Errorf("no units: %+v, %v", none, err)
	}
	zero, err := RolledYield([]Step{{50, 50}, {50, 0}})
	if err != nil || zero.Rolled == nil || *zero.Rolled != 0 || zero.DefectsPerUnit != nil {
		t.Errorf("a step that nothing passes: %+v, %v", zero, err)
	}
	if PerMillion(1, 0, 3) != nil || PerMillion(-1, 1, 1) != nil {
		t.Error("per million of nothing is defined")
	}
}
