package fit

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sagitta/inspect/internal/kerneltest"
)

func TestCircleRadiusReference(t *testing.T) {
	var ref struct {
		How       string
		Tolerance float64 `json:"tolerance_relative"`
		Cases     []struct {
			Y      []float64 `json:"y_mm"`
			Z      []float64 `json:"z_mm"`
			Radius float64   `json:"radius_mm"`
		}
	}
	kerneltest.Load(t, "circles.json", &ref)
	if len(ref.Cases) < 5 {
		t.Fatalf("%d cases", len(ref.Cases))
	}
	for _, c := range ref.Cases {
		got, err := CircleRadius(c.Y, c.Z)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("SciPy 1.10.1, %d tracks, radius %.6g mm: %.1f digits", len(c.Y), c.Radius, kerneltest.Digits(got, c.Radius))
		if math.Abs(got-c.Radius) > ref.Tolerance*math.Abs(c.Radius) {
			t.Errorf("y %v z %v: got %v, want %v", c.Y, c.Z, got, c.Radius)
		}
	}
}

// TestCircleRadiusPlanted puts points on circles, from slight arcs to whole turns, moved and mirrored.
func TestCircleRadiusPlanted(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 52))
	for k := range 3000 {
		n := 3 + r.IntN(6)
		radius := math.Pow(10, 1+2*r.Float64())
		half := math.Pow(10, -1.5*r.Float64()) * 1.5 // half the arc, rad
		dy, dz := 20*r.NormFloat64(), 20*r.NormFloat64()
		y, z, down := make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range y {
			angle := half * (2*float64(i)/float64(n-1) - 1)
			y[i], z[i] = dy+radius*math.Sin(angle), dz+radius*math.Cos(angle)
			down[i] = -z[i]
		}
		got, err := CircleRadius(y, z)
		if err != nil || math.Abs(got-radius) > 1e-10*radius {
			t.Fatalf("case %d: radius %v over %v rad: got %v, %v", k, radius, half, got, err)
		}
		if got, err = CircleRadius(y, down); err != nil || math.Abs(got+radius) > 1e-10*radius {
			t.Fatalf("case %d: hollow, radius %v: got %v, %v", k, radius, got, err)
		}
	}
}

// TestCircleRadiusIsStationary checks, on noisy points, that no circle nearby fits better: the gradient of the sum of
// squared distances by centre and radius is 0 at the circle with the returned radius and the best centre for it.
func TestCircleRadiusIsStationary(t *testing.T) {
	r := rand.New(rand.NewPCG(53, 54))
	cost := func(y, z []float64, cy, cz, radius float64) (sum float64) {
		for i := range y {
			d := math.Hypot(y[i]-cy, z[i]-cz) - radius
			sum += d * d
		}
		return sum
	}
	for k := range 300 {
		n := 5 + r.IntN(4)
		radius := 60 + 40*r.Float64()
		y, z := make([]float64, n), make([]float64, n)
		for i := range y {
			y[i] = 52*float64(i)/float64(n-1) - 26
			z[i] = math.Sqrt(radius*radius-y[i]*y[i]) + 0.02*r.NormFloat64()
		}
		got, err := CircleRadius(y, z)
		if err != nil {
			t.Fatal(err)
		}
		// For each radius near the result the centre is found by Newton-like pattern search; the result must be lowest.
		at := func(radius float64) float64 {
			cy, cz := 0.0, stat.Mean(z, nil)-radius+stat.Mean(drops(y, radius), nil)
			best := cost(y, z, cy, cz, radius)
			for step := 1.0; step > 1e-10; {
				moved := false
				for _, m := range [][2]float64{{step, 0}, {-step, 0}, {0, step}, {0, -step}} {
					if c := cost(y, z, cy+m[0], cz+m[1], radius); c < best {
						best, cy, cz, moved = c, cy+m[0], cz+m[1], true
						break
					}
				}
				if !moved {
					step /= 2
				}
			}
			return best
		}
		here := at(got)
		for _, f := range []float64{0.99, 0.999, 1.001, 1.01} {
			if c := at(got * f); c < here*(1-1e-9) {
				t.Fatalf("case %d: radius %v costs %v, %v costs less: %v", k, got, here, got*f, c)
			}
		}
	}
}

// drops returns how far a circle falls below its crest at each y.
func drops(y []float64, radius float64) []float64 {
	d := make([]float64, len(y))
	for i, v := range y {
		d[i] = radius - math.Sqrt(radius*radius-v*v)
	}
	return d
}

func TestCircleRadiusErrors(t *testing.T) {
	three := []float64{-17, 0, 17}
	for _, c := range []struct {
		name string
		y, z []float64
		want error
	}{
		{"none", nil, nil, ErrTooFew},
		{"two", three[:2], three[:2], ErrTooFew},
		{"lengths", three, three[:2], ErrShape},
		{"flat", three, []float64{0.3, 0.3, 0.3}, ErrFlat},
		{"tilted", three, []float64{0.1, 0.2, 0.3}, ErrFlat},
		{"upright", []float64{2, 2, 2}, three, ErrFlat},
		{"far away and flat", []float64{1e6, 1e6 + 1, 1e6 + 2}, []float64{5, 5, 5}, ErrFlat},
		{"one place", []float64{1, 1, 1}, []float64{2, 2, 2}, ErrDegenerate},
		{"two places", []float64{1, 3, 1}, []float64{2, 5, 2}, ErrDegenerate},
		{"NaN", three, []float64{0, math.NaN(), 0}, ErrNotFinite},
		{"infinite", []float64{math.Inf(-1), 0, 1}, three, ErrNotFinite},
	} {
		if r, err := CircleRadius(c.y, c.z); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, %v, want %v", c.name, r, err, c.want)
		}
	}
}

func BenchmarkCircleRadius3(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := CircleRadius([]float64{-17.5, 0, 17.5}, []float64{-0.5024, 0, -0.5031}); err != nil {
			b.Fatal(err)
		}
	}
}
