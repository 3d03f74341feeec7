package sweep

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

var newFret = path{crown: 1.2, tip: 1.5}

// TestFitAgainstSciPy holds the fit against scipy.optimize.least_squares (version in the file): Huber loss, stray heights
// and worn crowns included.
func TestFitAgainstSciPy(t *testing.T) {
	var table struct {
		Source string `json:"source"`
		Cases  []struct {
			Worn   float64   `json:"worn_mm"`
			X      []float64 `json:"x_mm"`
			Z      []float64 `json:"z_mm"`
			Place  float64   `json:"place_mm"`
			Height float64   `json:"height_mm"`
		} `json:"cases"`
	}
	text, err := os.ReadFile("testdata/huber_circle.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &table); err != nil {
		t.Fatal(err)
	}
	if len(table.Cases) != 9 {
		t.Fatalf("%d cases, want 9", len(table.Cases))
	}
	worst := 0.0
	for i, c := range table.Cases {
		var points []point
		for k := range c.X {
			points = append(points, point{x: c.X[k], z: c.Z[k], uHeight: 0.002})
		}
		s := newFret
		s.worn = c.Worn
		f := fit(points, 100, s, 0)
		off := math.Max(math.Abs(f.x-c.Place), math.Abs(f.z-c.Height))
		if worst = math.Max(worst, off); !f.ok || off > 2e-7 {
			t.Errorf("case %d: place %.9f and height %.9f, SciPy gives %.9f and %.9f", i+1, f.x, f.z, c.Place, c.Height)
		}
	}
	t.Logf("%s: agree to %.1e mm", table.Source, worst)
}

// TestUncertaintyOfFit: the scatter of many fits is what each says of itself; for n heights spread evenly u(z) is the
// noise over sqrt(n), for height and place are uncorrelated then (weighted least squares).
func TestUncertaintyOfFit(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var sum, said float64
	const trials = 4000
	for range trials {
		var points []point
		for i := range 7 {
			d := -1.2 + 0.4*float64(i)
			h, _ := newFret.at(d)
			points = append(points, point{x: d, z: h + 0.002*r.NormFloat64(), uHeight: 0.002})
		}
		f := fit(points, 0.1, newFret, 0)
		sum += f.z * f.z
		said += f.uz / trials
	}
	scatter, want := math.Sqrt(sum/trials), 0.002/math.Sqrt(7)
	if math.Abs(scatter/want-1) > 0.05 || math.Abs(said/want-1) > 0.05 {
		t.Errorf("scatter %.5f and u %.5f mm, want %.5f", scatter, said, want)
	}
}

// TestPath puts a ball on a circle cut flat, point by point, and compares the way of its lowest point.
func TestPath(t *testing.T) {
	for _, worn := range []float64{0, 0.01, 0.05, 0.12} {
		s := path{crown: 1.2, tip: 1.5, worn: worn}
		for d := -1.6; d <= 1.6; d += 0.05 {
			rest := math.Inf(-1)
			for x := -1.2; x <= 1.2; x += 1e-4 {
				if math.Abs(x-d) < 1.5 {
					z := math.Min(0, math.Sqrt(1.2*1.2-x*x)-1.2+worn)
					rest = math.Max(rest, z+math.Sqrt(1.5*1.5-(x-d)*(x-d))-1.5)
				}
			}
			z, slope := s.at(d)
			if math.Abs(z-rest) > 2e-5 {
				t.Errorf("worn by %g at %.2f: %.6f, a ball laid on gives %.6f", worn, d, z, rest)
			}
			z1, _ := s.at(d + 1e-6)
			if math.Abs((z1-z)/1e-6-slope) > 1e-4 {
				t.Errorf("worn by %g at %.2f: slope %.5f, difference quotient %.5f", worn, d, slope, (z1-z)/1e-6)
			}
		}
	}
}
