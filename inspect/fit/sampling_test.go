package fit

import (
	"errors"
	"math"
	"slices"
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

// TestSampleAdditive is the additive model of JCGM 101:2008, 9.2.2: four inputs N(0, 1), y = 0, u = 2.00, 95 % interval
// -3.92 to 3.92 (table 2).
func TestSampleAdditive(t *testing.T) {
	sum := func(q []float64) (float64, error) { return q[0] + q[1] + q[2] + q[3], nil }
	mean, sd, low, high, err := sample(sum, make([]float64, 4), []float64{1, 1, 1, 1}, 400_000, 20)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("JCGM 101 9.2.2: mean %.4f, sd %.4f, interval %.3f to %.3f", mean, sd, low, high)
	if math.Abs(mean) > 0.015 || math.Abs(sd-2) > 0.01 || math.Abs(low+3.92) > 0.04 || math.Abs(high-3.92) > 0.04 {
		t.Errorf("mean %v sd %v interval %v to %v", mean, sd, low, high)
	}
}

// TestSampleAgreesWithPropagate is the check that each is on the other (JCGM 101:2008, clause 8), for smooth quantities to 5 %.
func TestSampleAgreesWithPropagate(t *testing.T) {
	u, _, z := kerneltest.Crowns(17)
	uz := make([]float64, len(z))
	for i := range uz {
		uz[i] = 0.002
	}
	for _, c := range []struct {
		name      string
		f         func(q []float64) (float64, error)
		q, u      []float64
		tolerance float64
	}{
		{"relief", reliefOf(36.4, 405.3, 215.5), []float64{0.1, 0.2, -0.1}, []float64{0.005, 0.005, 0.005}, 0.05},
		{"bend curve's slope at the joint", func(q []float64) (float64, error) {
			b, err := BendCurve(u[:17], q)
			return b.Slope(u[16]), err
		}, z[:17], uz[:17], 0.05},
		{"radius", func(q []float64) (float64, error) { return CircleRadius([]float64{-26, -9, 9, 26}, q) },
			[]float64{-1.11, -0.133, -0.133, -1.11}, []float64{0.003, 0.003, 0.003, 0.003}, 0.05},
	} {
		propagated, err := Propagate(c.f, c.q, c.u)
		if err != nil {
			t.Fatal(err)
		}
		_, sampled, low, high, err := sample(c.f, c.q, c.u, 10_000, 7)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: propagated %.5g, sampled %.5g, 95 %% from %.5g to %.5g", c.name, propagated, sampled, low, high)
		if math.Abs(propagated/sampled-1) > c.tolerance {
			t.Errorf("%s: propagated %v, sampled %v", c.name, propagated, sampled)
		}
	}
}

func TestSampleSeedAndErrors(t *testing.T) {
	f := func(q []float64) (float64, error) { return q[0], nil }
	q, u := []float64{3}, []float64{0.5}
	run := func(n int, seed uint64) [4]float64 {
		a, b, c, d, err := sample(f, q, u, n, seed)
		if err != nil {
			t.Fatal(err)
		}
		return [4]float64{a, b, c, d}
	}
	if run(1000, 5) != run(1000, 5) {
		t.Error("the same seed gives other draws")
	}
	if run(1000, 5) == run(1000, 6) {
		t.Error("another seed gives the same draws")
	}
	if !slices.Equal(q, []float64{3}) {
		t.Errorf("inputs changed: %v", q)
	}
	// The interval holds 95 of 100 draws, with as many below as above within one (JCGM 101:2008, 7.7).
	var draws []float64
	_, _, low, high, err := sample(func(q []float64) (float64, error) {
		draws = append(draws, q[0])
		return q[0], nil
	}, q, u, 100, 5)
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(draws)
	if low != draws[2] || high != draws[97] {
		t.Errorf("interval %v to %v, draws 3 and 98 are %v and %v", low, high, draws[2], draws[97])
	}
	if a := run(100, 1); run(100, 1) != a {
		t.Error("not repeatable")
	}
	broken := errors.New("no verdict")
	for _, c := range []struct {
		name string
		f    func(q []float64) (float64, error)
		q, u []float64
		n    int
		want error
	}{
		{"few draws", f, q, u, 99, ErrTooFew},
		{"no draws", f, q, u, -1, ErrTooFew},
		{"lengths", f, q, nil, 100, ErrShape},
		{"NaN", f, []float64{math.NaN()}, u, 100, ErrNotFinite},
		{"function fails", func([]float64) (float64, error) { return 0, broken }, q, u, 100, broken},
		{"function gives infinity", func([]float64) (float64, error) { return math.Inf(1), nil }, q, u, 100, ErrNotFinite},
	} {
		if _, _, _, _, err := sample(c.f, c.q, c.u, c.n, 1); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
