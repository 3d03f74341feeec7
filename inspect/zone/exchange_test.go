package zone

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

// TestSolverWarmAndPerturbed compares a solver used again and again with a fresh one for each set of heights.
func TestSolverWarmAndPerturbed(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	for k := range 400 {
		rows, z := randomZoneProblem(r, 2+r.IntN(40))
		s, err := NewSolver(rows)
		if err != nil {
			t.Fatal(err)
		}
		size := 1e-13 * math.Max(1, fit.Largest(z))
		for round := range 4 {
			for i := range z {
				z[i] += 0.01 * r.NormFloat64()
			}
			zone, err := s.Solve(z)
			if err != nil {
				t.Fatal(err)
			}
			fresh, err := minimumZoneOf(rows, z)
			if err != nil || math.Abs(zone-fresh.Zone) > size {
				t.Fatalf("case %d round %d: warm %v, fresh %v (%v)", k, round, zone, fresh.Zone, err)
			}
			for range 5 {
				i, dz := r.IntN(len(z)), 0.02*r.NormFloat64()
				got, err := s.Perturb(i, dz)
				if err != nil {
					t.Fatal(err)
				}
				kept := z[i]
				z[i] += dz
				fresh, err := minimumZoneOf(rows, z)
				z[i] = kept
				if err != nil || math.Abs(got-fresh.Zone) > size {
					t.Fatalf("case %d: height %d moved by %v: %v, fresh %v (%v)", k, i, dz, got, fresh.Zone, err)
				}
			}
			if again, err := s.Perturb(0, 0); err != nil || math.Abs(again-zone) > size {
				t.Fatalf("case %d: %v after perturbations, %v before (%v)", k, again, zone, err)
			}
		}
	}
}

// TestSolverUnderBlandsRule runs the search by the rule that cannot cycle from its first step, on problems full of ties.
func TestSolverUnderBlandsRule(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	for k := range 3000 {
		rows, z := randomZoneProblem(r, 1+r.IntN(30))
		s, err := NewSolver(rows)
		if err != nil {
			t.Fatal(err)
		}
		s.patience = -1
		m, err := s.minimumZone(z)
		if err == nil {
			err = m.prove(rows, z)
		}
		if err != nil {
			t.Fatalf("case %d: %v\nrows %v\nz %v", k, err, rows, z)
		}
	}
}

func TestSolverErrors(t *testing.T) {
	s, err := NewSolver([][]float64{{1, 0}, {1, 1}, {1, 2}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Perturb(0, 1); !errors.Is(err, fit.ErrShape) {
		t.Errorf("perturbed before a solve: %v", err)
	}
	if _, err := s.Solve([]float64{1, 2}); !errors.Is(err, fit.ErrShape) {
		t.Errorf("a height missing: %v", err)
	}
	if _, err := s.Solve([]float64{1, 2, math.Inf(-1)}); !errors.Is(err, fit.ErrNotFinite) {
		t.Errorf("infinite height: %v", err)
	}
	if zone, err := s.Solve([]float64{0, 1, 0}); err != nil || math.Abs(zone-1) > 1e-15 {
		t.Errorf("after errors: %v, %v", zone, err)
	}
	for _, i := range []int{-1, 3} {
		if _, err := s.Perturb(i, 1); !errors.Is(err, fit.ErrShape) {
			t.Errorf("point %d: %v", i, err)
		}
	}
	if _, err := s.Perturb(1, math.NaN()); !errors.Is(err, fit.ErrNotFinite) {
		t.Errorf("change of NaN: %v", err)
	}
}

func TestSolverAllocatesNothing(t *testing.T) {
	u, y, z := kerneltest.Crowns(17)
	s, err := NewLevelSolver(u, y)
	if err != nil {
		t.Fatal(err)
	}
	solve := func() {
		z[5] += 0.001
		if _, err := s.Solve(z); err != nil {
			t.Fatal(err)
		}
		for i := range z {
			if _, err := s.Perturb(i, 0.005); err != nil {
				t.Fatal(err)
			}
		}
	}
	solve()
	if n := testing.AllocsPerRun(20, solve); n > 0 {
		t.Errorf("%v allocations for a solve and its perturbations", n)
	}
}

// TestUncertaintyAgreesWithDraws compares a level zone's uncertainty with that of 10,000 draws (JCGM 101:2008, clause 8): to
// 10 %, for a zone has kinks.
func TestUncertaintyAgreesWithDraws(t *testing.T) {
	u, y, z := kerneltest.Crowns(17)
	uz, drawn, zones := make([]float64, len(z)), make([]float64, len(z)), make([]float64, 10_000)
	for i := range uz {
		uz[i] = 0.002
	}
	s, err := NewLevelSolver(u, y)
	if err != nil {
		t.Fatal(err)
	}
	propagated, err := s.Uncertainty(z, uz)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(7, 7))
	for k := range zones {
		for i := range drawn {
			drawn[i] = z[i] + uz[i]*r.NormFloat64()
		}
		if zones[k], err = s.Solve(drawn); err != nil {
			t.Fatal(err)
		}
	}
	sampled := stat.StdDev(zones, nil)
	t.Logf("level zone: propagated %.5g, sampled %.5g", propagated, sampled)
	if math.Abs(propagated/sampled-1) > 0.10 {
		t.Errorf("propagated %v, sampled %v", propagated, sampled)
	}
}

func BenchmarkFlatness66(b *testing.B) {
	u, y, z := kerneltest.Crowns(22)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Flatness(u, y, z); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFlatness150(b *testing.B) {
	u, y, z := kerneltest.Crowns(50)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Flatness(u, y, z); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFlatness10000(b *testing.B) {
	r := rand.New(rand.NewPCG(33, 34))
	x, y, z := make([]float64, 10_000), make([]float64, 10_000), make([]float64, 10_000)
	for i := range z {
		x[i], y[i], z[i] = 648*r.Float64(), 56*r.Float64(), 0.01*r.NormFloat64()
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Flatness(x, y, z); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkStraightness22(b *testing.B) {
	u, _, z := kerneltest.Crowns(22)
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := Straightness(u[:22], z[:22]); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLevelZone51(b *testing.B) {
	u, y, z := kerneltest.Crowns(17)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Level(u, y, z); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLevelZonePropagated is the level zone with the central differences of all its 51 crowns.
func BenchmarkLevelZonePropagated(b *testing.B) {
	u, y, z := kerneltest.Crowns(17)
	s, err := NewLevelSolver(u, y)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Solve(z); err != nil {
			b.Fatal(err)
		}
		for i := range z {
			for _, dz := range []float64{0.005, -0.005} {
				if _, err := s.Perturb(i, dz); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
}
