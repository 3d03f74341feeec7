package fit

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"sagitta/inspect/internal/kerneltest"
)

func TestBendCurveReference(t *testing.T) {
	var ref struct {
		How  string
		Fits []struct {
			Name      string
			U         []float64
			ZMM       []float64 `json:"z_mm"`
			Threshold float64   `json:"threshold_mm"`
			Curve     []float64 `json:"curve_mm"`
			C         []float64 `json:"coefficients_of_powers_of_u"`
			Cost      float64
			Within    int `json:"within_threshold"`
		}
	}
	kerneltest.Load(t, "huber.json", &ref)
	if len(ref.Fits) != 7 {
		t.Fatalf("%d fits", len(ref.Fits))
	}
	for _, fit := range ref.Fits {
		if fit.Threshold != HuberThresholdMM {
			t.Fatalf("%s: threshold %v", fit.Name, fit.Threshold)
		}
		b, err := BendCurve(fit.U, fit.ZMM)
		if err != nil {
			t.Fatalf("%s: %v", fit.Name, err)
		}
		var worst float64
		for i, want := range fit.Curve {
			worst = math.Max(worst, math.Abs(b.At(fit.U[i])-want))
		}
		t.Logf("%s (SciPy 1.10.1 and an exact solve): curve within %.1e mm, cost %.1f digits, gradient %.1e", fit.Name, worst,
			kerneltest.Digits(b.Cost, fit.Cost), b.Gradient)
		if worst > 1e-12 { // the reference itself is stated to 1e-5 mm
			t.Errorf("%s: curve differs by %v mm", fit.Name, worst)
		}
		for k, want := range fit.C {
			if math.Abs(b.C[k]-want) > 1e-9 {
				t.Errorf("%s: coefficient %d is %v, want %v", fit.Name, k, b.C[k], want)
			}
		}
		if b.Within != fit.Within || !b.Unique || math.Abs(b.Cost-fit.Cost) > 1e-15 {
			t.Errorf("%s: within %d, cost %v, unique %v; want %d, %v", fit.Name, b.Within, b.Cost, b.Unique, fit.Within, fit.Cost)
		}
	}
}

// checkBendOptimal recomputes the gradient of the convex cost from the curve itself: 0 means the least value.
func checkBendOptimal(b Bend, u, z []float64) (gradient float64) {
	middle, half := MiddleAndHalf(u)
	var g [4]float64
	for i := range u {
		r := z[i] - b.At(u[i])
		psi := math.Max(-HuberThresholdMM, math.Min(r, HuberThresholdMM))
		v := (u[i] - middle) / half
		for k := range g {
			g[k] += psi * math.Pow(v, float64(k))
		}
	}
	return Largest(g[:])
}

func TestBendCurveIsOptimal(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	several := 0
	for k := range 20_000 {
		n := 5 + r.IntN(20)
		u, z := make([]float64, n), make([]float64, n)
		noise := math.Pow(10, float64(r.IntN(6)-4))
		for i := range u {
			u[i] = kerneltest.Place(i + 1)
			if k%3 == 0 {
				u[i] = float64(i)
			}
			z[i] = noise * r.NormFloat64()
			switch r.IntN(10) {
			case 0:
				z[i] += 0.06
			case 1:
				z[i] = 0.02 * float64(r.IntN(5)-2)
			case 2:
				z[i] += 100 * noise
			}
		}
		b, err := BendCurve(u, z)
		if err != nil {
			t.Fatalf("case %d: %v\nu %v\nz %v", k, err, u, z)
		}
		if !b.Unique {
			several++
		}
		if g := checkBendOptimal(b, u, z); g > 1e-12*(1+Largest(z)+Largest(b.C[:])) {
			t.Fatalf("case %d: gradient %v\nu %v\nz %v", k, g, u, z)
		}
	}
	t.Logf("20000 random tracks, all optimal; %d without a unique curve", several)
}

func TestBendCurveLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(43, 44))
	for k := range 2000 {
		n := 8 + r.IntN(15)
		u, z, moved := make([]float64, n), make([]float64, n), make([]float64, n)
		c := [4]float64{r.NormFloat64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}
		cubic := Bend{C: c}
		for i := range u {
			u[i] = kerneltest.Place(i + 1)
			z[i] = 0.006 * r.NormFloat64()
			moved[i] = z[i] + cubic.At(u[i])
		}
		z[4] += 0.15
		moved[4] += 0.15
		b, err := BendCurve(u, z)
		if err != nil {
			t.Fatal(err)
		}
		if !b.Unique {
			continue
		}
		other, err := BendCurve(u, moved)
		if err != nil {
			t.Fatal(err)
		}
		z[4] += 3 // a point beyond the threshold pulls the same however far it is
		far, err := BendCurve(u, z)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range u {
			if d := math.Abs(other.At(v) - cubic.At(v) - b.At(v)); d > 1e-12 {
				t.Fatalf("case %d: adding a cubic moved the curve by %v as well", k, d)
			}
			if d := math.Abs(far.At(v) - b.At(v)); d > 1e-12 && z[4]-3-b.At(u[4]) > HuberThresholdMM {
				t.Fatalf("case %d: an outlier farther out moved the curve by %v", k, d)
			}
			const h = 1e-4
			if d := (b.At(v+h) - b.At(v-h)) / (2 * h); math.Abs(d-b.Slope(v)) > 1e-6*(1+Largest(b.C[:])) {
				t.Fatalf("slope %v, by differences %v", b.Slope(v), d)
			}
			if d := (b.Slope(v+h) - b.Slope(v-h)) / (2 * h); math.Abs(d-b.Second(v)) > 1e-6*(1+Largest(b.C[:])) {
				t.Fatalf("second derivative %v, by differences %v", b.Second(v), d)
			}
		}
	}
}

// TestBendCurveSeveralMinima uses signs whose sums against every cubic vanish (E. Prouhet's partition of 0 to 15): with
// heights of 1 mm in those signs any small cubic has the same cost, and the least-squares cubic, which is 0, is returned.
func TestBendCurveSeveralMinima(t *testing.T) {
	var u, z []float64
	for i, sign := range []float64{1, -1, -1, 1, -1, 1, 1, -1, -1, 1, 1, -1, 1, -1, -1, 1} {
		u, z = append(u, float64(i)/16), append(z, sign)
	}
	b, err := BendCurve(u, z)
	if err != nil {
		t.Fatal(err)
	}
	if b.Unique || b.Within != 0 || Largest(b.C[:]) > 1e-13 {
		t.Errorf("got %+v, want the zero cubic, not unique", b)
	}
	z[0] += 0.5 // still beyond the threshold: the cost is as flat as before, and the gradient proves it
	if b, err = BendCurve(u, z); err != nil || b.Unique || checkBendOptimal(b, u, z) > 1e-14 {
		t.Errorf("got %+v, %v", b, err)
	}
}

func TestBendCurveErrors(t *testing.T) {
	five := []float64{0, 1, 2, 3, 4}
	for _, c := range []struct {
		name string
		u, z []float64
		want error
	}{
		{"none", nil, nil, ErrTooFew},
		{"four", five[:4], five[:4], ErrTooFew},
		{"lengths", five, five[:4], ErrShape},
		{"three places", []float64{0, 1, 2, 2, 1}, five, ErrDegenerate},
		{"NaN", five, []float64{0, 1, math.NaN(), 3, 4}, ErrNotFinite},
		{"far from a cubic", five, []float64{0, 1e50, 0, 1e50, 1e50}, ErrNotFinite},
	} {
		if b, err := BendCurve(c.u, c.z); !errors.Is(err, c.want) {
			t.Errorf("%s: %+v, %v, want %v", c.name, b, err, c.want)
		}
	}
}

func BenchmarkBendCurve17(b *testing.B) {
	u, _, z := kerneltest.Crowns(17)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := BendCurve(u[17:34], z[17:34]); err != nil {
			b.Fatal(err)
		}
	}
}
