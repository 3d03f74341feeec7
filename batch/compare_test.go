package batch

import (
	"math"
	"testing"
)

// TestNewcombe recomputes the contrasts of Table II, method 10, of R. G. Newcombe, Statistics in Medicine 17 (1998) 873-890;
// the printed limits are from memory.
func TestNewcombe(t *testing.T) {
	for _, c := range []struct {
		k1, n1, k2, n2 int
		lo, hi         float64
	}{
		{56, 70, 48, 80, 0.0524, 0.3339},
		{9, 10, 3, 10, 0.1705, 0.8090},
		{6, 7, 2, 7, 0.0582, 0.8062},
		{5, 56, 0, 29, -0.0381, 0.1926},
		{0, 10, 0, 20, -0.1611, 0.2775},
		{0, 10, 0, 10, -0.2775, 0.2775},
		{10, 10, 0, 20, 0.6791, 1.0000},
		{10, 10, 0, 10, 0.6075, 1.0000},
	} {
		lo, hi := Newcombe(c.k1, c.n1, c.k2, c.n2, 0.95)
		if math.Abs(lo-c.lo) > 0.5001e-4 || math.Abs(hi-c.hi) > 0.5001e-4 {
			t.Errorf("%d/%d less %d/%d: got %.5f to %.5f, printed %.4f to %.4f", c.k1, c.n1, c.k2, c.n2, lo, hi, c.lo, c.hi)
		}
		// The other way round the interval changes its sign.
		back, forth := Newcombe(c.k2, c.n2, c.k1, c.n1, 0.95)
		if math.Abs(back+hi) > 1e-12 || math.Abs(forth+lo) > 1e-12 {
			t.Errorf("%d/%d less %d/%d: turned round %.5f to %.5f", c.k1, c.n1, c.k2, c.n2, back, forth)
		}
	}
	for _, c := range [][4]int{{0, 0, 1, 2}, {1, 2, 0, 0}, {3, 2, 1, 2}} {
		if lo, hi := Newcombe(c[0], c[1], c[2], c[3], 0.95); lo != -1 || hi != 1 {
			t.Errorf("%v: got %g to %g, want -1 to 1", c, lo, hi)
		}
	}
}

// momentsFrom are the moments of published summary figures.
func momentsFrom(n int, mean, sd float64) Moments {
	return Moments{N: n, Mean: mean, M2: sd * sd * float64(n-1)}
}

// of are the moments of values.
func of(values ...float64) Moments {
	var m Moments
	for _, v := range values {
		m = m.Plus(Moments{N: 1, Mean: v})
	}
	return m
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 7.3.1: assembly times with the old and the new device; figures as printed
// there, from memory: t 2.269, 15.533 degrees of freedom.
func TestDifferenceOfMeansOfTheHandbook(t *testing.T) {
	before := of(32, 37, 35, 28, 41, 44, 35, 31, 34, 38, 42)
	after := of(36, 31, 30, 31, 34, 36, 29, 32, 31)
	d, ok := DifferenceOfMeans(before, after, 0.95)
	if !ok || math.Abs(d.Value-(36.0909-32.2222)) > 0.0001 {
		t.Fatalf("difference %+v", d)
	}
	// The half-width is t(0.975; 15.533) standard errors, the standard error the difference by 2.269. 2.1199 to 2.1315 are the
	// quantiles of 16 and 15 degrees of freedom (any table of Student's t).
	quantile := (d.High - d.Value) / (d.Value / 2.269)
	if quantile < 2.1199 || quantile > 2.1315 || math.Abs(d.Value-d.Low-(d.High-d.Value)) > 1e-12 {
		t.Errorf("%+v: half-width of %.4f standard errors", d, quantile)
	}
	// Between the two-sided 5 % (2.13) and 2 % (2.60) points of 15 degrees of freedom.
	if d.P > 0.05 || d.P < 0.02 {
		t.Errorf("p %.4f", d.P)
	}
}

// TestDifferenceOfMeansMatchesOneOfEqualSpread: with equal sizes and spreads Welch's degrees of freedom are those of the
// pooled test, 2(n-1): with n = 9 and s = 1 the half-width is t(0.975; 16) sqrt(2/9), t = 2.119905299 (Student's table).
func TestDifferenceOfMeansMatchesOneOfEqualSpread(t *testing.T) {
	d, ok := DifferenceOfMeans(momentsFrom(9, 5, 1), momentsFrom(9, 4, 1), 0.95)
	if want := 2.1199052992212546 * math.Sqrt(2.0/9); !ok || math.Abs(d.High-1-want) > 1e-9 || math.Abs(1-d.Low-want) > 1e-9 {
		t.Errorf("%+v, want 1 ± %.6f", d, want)
	}
}

// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.9: ceramic strength of two batches (JAHANMI2.DAT), s 65.54909 and
// 61.85425 of 240 pieces each; F 1.123037 with the critical values 0.7756 and 1.2894 at 5 %, as printed there, from memory.
func TestRatioOfDeviationsOfTheHandbook(t *testing.T) {
	r, ok := RatioOfDeviations(momentsFrom(240, 0, 65.54909), momentsFrom(240, 0, 61.85425), 0.95)
	if !ok || math.Abs(r.Value*r.Value-1.123037) > 1e-6 {
		t.Fatalf("ratio %+v", r)
	}
	if lo, hi := math.Sqrt(1.123037/1.2894), math.Sqrt(1.123037/0.7756); math.Abs(r.Low-lo) > 3e-5 || math.Abs(r.High-hi) > 6e-5 {
		t.Errorf("got %.5f to %.5f, want %.5f to %.5f", r.Low, r.High, lo, hi)
	}
	if r.P < 0.05 {
		t.Errorf("p %.3f where the handbook finds no difference at 5 %%", r.P)
	}
	back, _ := RatioOfDeviations(momentsFrom(240, 0, 61.85425), momentsFrom(240, 0, 65.54909), 0.95)
	if math.Abs(back.Low*r.High-1) > 1e-9 || math.Abs(back.High*r.Low-1) > 1e-9 || math.Abs(back.P-r.P) > 1e-12 {
		t.Errorf("turned round %+v, first %+v", back, r)
	}
}

// TestIntervalEndsWhereTheTestTurns holds the intervals against the probabilities: at a confidence of 1 - P one end lies on
// no difference.
func TestIntervalEndsWhereTheTestTurns(t *testing.T) {
	for _, c := range []struct{ a, b Moments }{
		{momentsFrom(12, 0.31, 0.04), momentsFrom(30, 0.29, 0.02)},
		{momentsFrom(4, 1.62, 0.1), momentsFrom(3, 1.7, 0.07)},
		{momentsFrom(200_000, 0.3001, 0.0401), momentsFrom(150_000, 0.3, 0.04)},
	} {
		first, _ := DifferenceOfMeans(c.a, c.b, 0.95)
		if d, ok := DifferenceOfMeans(c.a, c.b, 1-first.P); !ok || math.Min(math.Abs(d.Low), math.Abs(d.High)) > 1e-9 {
			t.Errorf("means of %+v: p %.6g, interval %+v", c, first.P, d)
		}
		first, _ = RatioOfDeviations(c.a, c.b, 0.95)
		if r, ok := RatioOfDeviations(c.a, c.b, 1-first.P); !ok || math.Min(math.Abs(r.Low-1), math.Abs(r.High-1)) > 1e-8 {
			t.Errorf("spreads of %+v: p %.6g, interval %+v", c, first.P, r)
		}
	}
}

func TestNothingToCompare(t *testing.T) {
	some := momentsFrom(9, 1, 0.1)
	for _, c := range []struct{ a, b Moments }{{Moments{}, some}, {some, Moments{N: 1, Mean: 3}}, {momentsFrom(5, 1, 0), momentsFrom(5, 2, 0)}} {
		if d, ok := DifferenceOfMeans(c.a, c.b, 0.95); ok {
			t.Errorf("%+v: %+v", c, d)
		}
		if r, ok := RatioOfDeviations(c.a, c.b, 0.95); ok {
			t.Errorf("%+v: %+v", c, r)
		}
	}
	if d, ok := DifferenceOfMeans(some, some, 1); ok {
		t.Errorf("confidence 1: %+v", d)
	}
}
