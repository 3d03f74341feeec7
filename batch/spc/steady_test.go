package spc

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestSteadinessOf(t *testing.T) {
	e := references(t, percentilesFile, "Steadiness")[0]
	s := SteadinessOf(decode[[]float64](t, e.Inputs, "x"))
	near(t, "ratio", s.Ratio, decode[float64](t, e.Expected, "ratio"), 1e-9)
	near(t, "p of the ratio", s.RatioP, decode[float64](t, e.Expected, "ratio_p"), 1e-9)
	near(t, "sum", s.Sum, decode[float64](t, e.Expected, "sum"), 1e-9)
	near(t, "p of the sum", s.SumP, decode[float64](t, e.Expected, "sum_p"), 1e-9)
	if want := decode[int](t, e.Expected, "at"); s.At != want {
		t.Errorf("changes most after value %d, want %d", s.At, want)
	}
	if got := SteadinessOf(make([]float64, 24)); got.Judge() != UntoldSteadily {
		t.Errorf("24 values: %q", got.Judge())
	}
	if got := SteadinessOf(make([]float64, 30)); got.Judge() != UntoldSteadily || math.IsNaN(got.Ratio) {
		t.Errorf("equal values: %+v", got)
	}
}

// Of steady series one in a hundred is called unsteady at the most (as far as 2000 of them tell), Normal or skewed; a step of one
// sigma in the middle and a slow drift are found nearly always, and the step's place within a tenth of the series.
func TestSteadinessTellsPlantedTruths(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	const series = 2000
	x := make([]float64, 200)
	unsteady := func(draw func(i int) float64) (share, place float64) {
		for range series {
			for i := range x {
				x[i] = draw(i)
			}
			if s := SteadinessOf(x); s.Judge() == Unsteady {
				share++
				place += math.Abs(float64(s.At) - 100)
			}
		}
		return share / series, place / max(1, share)
	}
	const most = UnsteadyBelow + 3*0.0022 // three standard errors
	if share, _ := unsteady(func(int) float64 { return rng.NormFloat64() }); share > most {
		t.Errorf("%.4f of steady Normal series are called unsteady", share)
	}
	if share, _ := unsteady(func(int) float64 { return math.Exp(0.6 * rng.NormFloat64()) }); share > most {
		t.Errorf("%.4f of steady skewed series are called unsteady", share)
	}
	if share, place := unsteady(func(i int) float64 { return float64(i/100) + rng.NormFloat64() }); share < 0.99 || place > 20 {
		t.Errorf("a step of one sigma is found in %.3f of the series, %.1f values off", share, place)
	}
	if share, _ := unsteady(func(i int) float64 { return float64(i)/100 + rng.NormFloat64() }); share < 0.99 {
		t.Errorf("a drift of two sigma is found in %.3f of the series", share)
	}
}
