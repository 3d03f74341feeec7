package spc

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestPercentileIntervals(t *testing.T) {
	for _, e := range references(t, percentilesFile, "Percentile index") {
		l := Limits{Upper: point(decode[float64](t, e.Inputs, "upper"))}
		if _, both := e.Inputs["lower"]; both {
			l.Lower = point(decode[float64](t, e.Inputs, "lower"))
		}
		r, err := Capability(decode[[]float64](t, e.Inputs, "x"), CapabilityOptions{Limits: l, Bounded: true})
		if err != nil {
			t.Fatal(err)
		}
		p := r.Performance
		if p.Basis != ByPercentiles {
			t.Fatalf("%s: %+v", e.Name, p)
		}
		near(t, e.Name, p.Index, decode[float64](t, e.Expected, "index"), 1e-5)
		all(t, "its interval", []float64{p.Low, p.High}, decode[[]float64](t, e.Expected, "interval"), 1e-4)
		near(t, "per million", p.PerMillion, decode[float64](t, e.Expected, "per_million"), 1e-4)
		all(t, "its interval", []float64{p.Fewest, p.Most}, decode[[]float64](t, e.Expected, "per_million_interval"), 1e-3)
	}
	e := references(t, percentilesFile, "Index from the share counted")[0]
	n := decode[[]int](t, e.Inputs, "n")
	for i, k := range decode[[]int](t, e.Inputs, "outside") {
		r := CapabilityResult{N: n[i], Above: k}
		var p Performance
		p.count(&r, 0.95)
		near(t, "index", p.Low, decode[[]float64](t, e.Expected, "index_low")[i], 1e-9)
		near(t, "fewest", p.Fewest, 1e6*decode[[]float64](t, e.Expected, "share_low")[i], 1e-9)
		near(t, "most", p.Most, 1e6*decode[[]float64](t, e.Expected, "share_high")[i], 1e-9)
	}
}

// What is predicted comes near what a long run counts, of whatever a process really is, and the index's interval holds the true one.
func TestPredictionComesNearTheTruth(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 5))
	upper := 0.12
	for _, c := range []struct {
		name  string
		draw  func() float64
		truth float64 // per million above upper
	}{
		{"zone with a long tail", func() float64 { return math.Round(1e3*0.055*math.Exp(0.36*rng.NormFloat64())) / 1e3 }, 1e6 * normalTail(-math.Log(0.1205/0.055)/0.36)},
		{"Weibull", func() float64 { return 0.07 * math.Pow(rng.ExpFloat64(), 1/2.5) }, 1e6 * math.Exp(-math.Pow(upper/0.07, 2.5))},
		{"two sources", func() float64 { // four of a hundred lie about another mean
			if rng.IntN(25) == 0 {
				return 0.13 + 0.003*rng.NormFloat64()
			}
			return 0.05 + 0.004*rng.NormFloat64()
		}, 1e6 / 25 * normalTail(10.0/3)},
	} {
		for _, n := range []int{100, 1000, 20000} {
			held, near := 0, 0.0
			const runs = 60
			for range runs {
				x := make([]float64, n)
				for i := range x {
					x[i] = c.draw()
				}
				r, err := Capability(x, CapabilityOptions{Limits: Limits{Upper: &upper}, Bounded: true})
				if err != nil {
					t.Fatal(err)
				}
				p := r.Performance
				if p.PerMillion == nil {
					t.Fatalf("%s, %d values: no prediction, %+v", c.name, n, p)
				}
				near += *p.PerMillion / c.truth / runs
				if p.Fewest <= c.truth && c.truth <= p.Most {
					held++
				}
			}
			if near < 0.75 || near > 1.35 || held < runs*8/10 {
				t.Errorf("%s, %d values: predicted %.2f times the truth on average, %d of %d intervals hold it", c.name, n, near, held, runs)
			}
		}
	}
}

// Normal values with two limits keep the Normal index; the same with one limit come to the same one.
func TestNormalValuesAreNormal(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 6))
	x := make([]float64, 200)
	for i := range x {
		x[i] = 0.3 + 0.03*rng.NormFloat64()
	}
	both, err := Capability(x, CapabilityOptions{Limits: Limits{point(0.2), point(0.4)}})
	if err != nil {
		t.Fatal(err)
	}
	if p := both.Performance; p.Basis != ByNormal || *p.Index != *both.PPK || p.Low != both.CI.PPK[0] {
		t.Errorf("%+v, Ppk %v", p, *both.PPK)
	}
	near(t, "per million", both.Performance.PerMillion, *both.Expected, 1e-9)
}

// Where a share outside is too small to be written as a number, no interval is made of it.
func TestNoIntervalOfAShareThatVanishes(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	x := make([]float64, 60)
	for i := range x {
		x[i] = 0.3 + 0.0001*rng.NormFloat64()
	}
	r, err := Capability(x, CapabilityOptions{Limits: Limits{point(0.1), point(0.5)}})
	ok(t, err)
	if p := r.Performance; p.Basis != ByNormal || p.PerMillion == nil || *p.PerMillion != 0 || !math.IsNaN(p.Fewest) || !math.IsNaN(p.Most) {
		t.Errorf("%+v", p)
	}
}

// What was tried is known where nothing fits.
func TestTriedDistributions(t *testing.T) {
	few := []float64{0, 0.01, 0.02, 0, 0.03, 0.2}
	r, err := Capability(few, CapabilityOptions{Limits: Limits{Upper: point(0.1)}, Bounded: true})
	ok(t, err)
	if p := r.Performance; p.Basis != ByCount || len(p.Tried) != 0 {
		t.Errorf("%+v", p)
	}
	two := make([]float64, 60)
	for i := range two {
		two[i] = 0.01 + 0.09*float64(i%2) + 0.0001*float64(i%7)
	}
	r, err = Capability(two, CapabilityOptions{Limits: Limits{Upper: point(0.1)}, Bounded: true})
	ok(t, err)
	if p := r.Performance; p.Basis != ByCount || !slices.Equal(p.Tried, []Distribution{LognormalDistribution, WeibullDistribution}) {
		t.Errorf("%+v", p)
	}
}
