package fit

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

// reliefOf returns relief at k over the datum pair a, b from heights z_a, z_b, z_k.
func reliefOf(xa, xb, xk float64) func(q []float64) (float64, error) {
	return func(q []float64) (float64, error) { return q[0] + (q[1]-q[0])*(xk-xa)/(xb-xa) - q[2], nil }
}

func TestPropagateReference(t *testing.T) {
	var ref struct {
		Scale  float64 `json:"scale_mm"`
		Relief struct {
			UZ      float64 `json:"u_z_mm"`
			Weights []float64
			U       float64 `json:"u_relief_mm"`
		} `json:"relief_uncertainty"`
		Cases []struct {
			Feet    [2]float64 `json:"feet_mm"`
			Plunger float64    `json:"plunger_mm"`
			Reading float64    `json:"reading_mm"`
			A, B, K int
			Relief  float64 `json:"relief_mm"`
		}
	}
	kerneltest.Load(t, "beam_and_uncertainty.json", &ref)
	xa, xb, xk := ref.Scale*kerneltest.Place(1), ref.Scale*kerneltest.Place(17), ref.Scale*kerneltest.Place(7)
	q, u := []float64{0.1, 0.2, -0.15}, []float64{ref.Relief.UZ, ref.Relief.UZ, ref.Relief.UZ}
	total, err := Propagate(reliefOf(xa, xb, xk), q, u)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("weights of relief, JCGM 100 5.1.2: u %.6g mm, %.1f digits", total, kerneltest.Digits(total, ref.Relief.U))
	if math.Abs(total-ref.Relief.U) > 1e-15 {
		t.Errorf("u %v, want %v", total, ref.Relief.U)
	}
	for i, w := range ref.Relief.Weights {
		one := make([]float64, len(q))
		one[i] = ref.Relief.UZ
		if part, err := Propagate(reliefOf(xa, xb, xk), q, one); err != nil || math.Abs(part-math.Abs(w)*ref.Relief.UZ) > 1e-15 {
			t.Errorf("part %d is %v, want %v (%v)", i, part, math.Abs(w)*ref.Relief.UZ, err)
		}
	}
	if len(ref.Cases) == 0 {
		t.Fatal("no beam readings")
	}
	for _, c := range ref.Cases { // the beam's sagitta put on the datum pair, for the same curvature
		xa, xb, xk := ref.Scale*kerneltest.Place(c.A), ref.Scale*kerneltest.Place(c.B), ref.Scale*kerneltest.Place(c.K)
		got := c.Reading * (xk - xa) * (xb - xk) / ((c.Plunger - c.Feet[0]) * (c.Feet[1] - c.Plunger))
		if math.Abs(got-c.Relief) > 1e-15 {
			t.Errorf("beam at %v: %v, want %v", c.Feet, got, c.Relief)
		}
	}
}

// TestPropagateComparisonLoss is the power meter of JCGM 101:2008, 9.4: deltaY = x1^2 + x2^2 with u = 0.005 each. Its first-order
// uncertainties for x2 = 0 are 0, 100 and 500 (1e-6); with all terms they are 50, 112 and 502, and the estimates 50, 150
// and 2551 (values from memory, confirmed by the closed forms 2 x u and 4 u^2 x^2 + 4 u^4).
func TestPropagateComparisonLoss(t *testing.T) {
	loss := func(q []float64) (float64, error) { return q[0]*q[0] + q[1]*q[1], nil }
	for _, c := range []struct{ x1, first, mean, all float64 }{{0, 0, 50, 50}, {0.010, 100, 150, 112}, {0.050, 500, 2551, 502}} {
		q, u := []float64{c.x1, 0}, []float64{0.005, 0.005}
		got, err := Propagate(loss, q, u)
		if err != nil || math.Abs(got*1e6-c.first) > 1e-9 {
			t.Errorf("x1 %v: first order %v, %v, want %v", c.x1, got*1e6, err, c.first)
		}
		mean, sd, _, _, err := sample(loss, q, u, 200_000, 1)
		if err != nil || math.Abs(mean*1e6-c.mean) > 0.005*c.mean+1 || math.Abs(sd*1e6-c.all) > 0.01*c.all {
			t.Errorf("x1 %v: mean %v, sd %v, %v, want %v, %v", c.x1, mean*1e6, sd*1e6, err, c.mean, c.all)
		}
		t.Logf("JCGM 101 9.4, x1 = %v: first order %.4g, mean %.5g, sd %.4g (1e-6)", c.x1, got*1e6, mean*1e6, sd*1e6)
	}
}

func TestPropagateLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(71, 72))
	for k := range 500 {
		n := 1 + r.IntN(8)
		q, u, w := make([]float64, n), make([]float64, n), make([]float64, n)
		var want float64
		for i := range q {
			q[i], w[i] = r.NormFloat64(), r.NormFloat64()
			if r.IntN(4) > 0 {
				u[i] = 0.1 * r.Float64()
			}
			want += w[i] * u[i] * w[i] * u[i]
		}
		linear := func(q []float64) (float64, error) { return 3 + Dot(w, q), nil }
		kept := slices.Clone(q)
		got, err := Propagate(linear, q, u)
		if err != nil || math.Abs(got-math.Sqrt(want)) > 1e-14 {
			t.Fatalf("case %d: linear: %v, %v, want %v", k, got, err, math.Sqrt(want))
		}
		// A quadratic has no third derivative, so central differences give its exact gradient.
		square := func(q []float64) (float64, error) { return Dot(q, q), nil }
		want = 0
		for i := range q {
			want += 4 * q[i] * q[i] * u[i] * u[i]
		}
		got, err = Propagate(square, q, u)
		if err != nil || math.Abs(got-math.Sqrt(want)) > 1e-13 {
			t.Fatalf("case %d: square: %v, %v, want %v", k, got, err, math.Sqrt(want))
		}
		if !slices.Equal(q, kept) {
			t.Fatalf("case %d: inputs changed from %v to %v", k, kept, q)
		}
	}
}

func TestPropagateErrors(t *testing.T) {
	fine := func(q []float64) (float64, error) { return q[0], nil }
	broken := errors.New("crown missing")
	calls := 0
	for _, c := range []struct {
		name string
		f    func(q []float64) (float64, error)
		q, u []float64
		want error
	}{
		{"lengths", fine, []float64{1}, []float64{1, 2}, ErrShape},
		{"NaN input", fine, []float64{math.NaN()}, []float64{1}, ErrNotFinite},
		{"infinite u", fine, []float64{1}, []float64{math.Inf(1)}, ErrNotFinite},
		{"function fails", func([]float64) (float64, error) { return 0, broken }, []float64{1}, []float64{1}, broken},
		{"function fails below", func([]float64) (float64, error) {
			if calls++; calls%2 == 0 {
				return 0, broken
			}
			return 1, nil
		}, []float64{1}, []float64{1}, broken},
		{"function gives NaN", func([]float64) (float64, error) { return math.NaN(), nil }, []float64{1}, []float64{1}, ErrNotFinite},
	} {
		kept := slices.Clone(c.q)
		if u, err := Propagate(c.f, c.q, c.u); !errors.Is(err, c.want) || u != 0 {
			t.Errorf("%s: %v, %v, want %v", c.name, u, err, c.want)
		}
		if len(kept) == 1 && kept[0] == kept[0] && c.q[0] != kept[0] {
			t.Errorf("%s: input left at %v", c.name, c.q[0])
		}
	}
	if _, err := Propagate(fine, []float64{1}, []float64{-1}); err == nil {
		t.Error("negative uncertainty accepted")
	}
	if u, err := Propagate(fine, []float64{1}, []float64{0}); err != nil || u != 0 {
		t.Errorf("no uncertainty: %v, %v", u, err)
	}
	if u, err := Propagate(fine, nil, nil); err != nil || u != 0 {
		t.Errorf("no inputs: %v, %v", u, err)
	}
}
