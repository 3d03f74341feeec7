package batch

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// Reference intervals: testdata/reference/statistics/proportions.json, whose entries name their sources (Newcombe 1998,
// NIST/SEMATECH e-Handbook 7.2.4.2) and the libraries the digits were computed with.
func TestIntervalsOfProportions(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "testdata", "reference", "statistics", "proportions.json"))
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Entries []struct {
			Name   string
			Inputs struct {
				X, N       int
				Confidence float64
			}
			Expected, Published struct {
				Wilson         *[2]float64
				ClopperPearson *[2]float64 `json:"clopper_pearson"`
			}
		}
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	if len(ref.Entries) != 9 {
		t.Fatalf("%d entries, want 9", len(ref.Entries))
	}
	for _, e := range ref.Entries {
		check := func(method string, f func(k, n int, confidence float64) (lo, hi float64), want *[2]float64, within float64) {
			if want == nil {
				return
			}
			lo, hi := f(e.Inputs.X, e.Inputs.N, e.Inputs.Confidence)
			if math.Abs(lo-want[0]) > within || math.Abs(hi-want[1]) > within {
				t.Errorf("%s, %s: got %.12g to %.12g, want %.12g to %.12g", e.Name, method, lo, hi, want[0], want[1])
			}
		}
		check("Wilson", Wilson, e.Expected.Wilson, 1e-9)
		check("Clopper-Pearson", ClopperPearson, e.Expected.ClopperPearson, 1e-9)
		check("Wilson as printed", Wilson, e.Published.Wilson, 0.5001e-4)
		check("Clopper-Pearson as printed", ClopperPearson, e.Published.ClopperPearson, 0.5001e-4)
	}
}

func TestIntervalWithoutTrialsSaysNothing(t *testing.T) {
	for _, c := range [][3]float64{{0, 0, 0.95}, {3, 2, 0.95}, {-1, 2, 0.95}, {1, 2, 1}, {1, 2, math.NaN()}} {
		for _, f := range []func(k, n int, confidence float64) (lo, hi float64){Wilson, ClopperPearson} {
			if lo, hi := f(int(c[0]), int(c[1]), c[2]); lo != 0 || hi != 1 {
				t.Errorf("%v: got %g to %g, want 0 to 1", c, lo, hi)
			}
		}
	}
}

// The interval holds the proportion, narrows with n, widens with confidence, and mirrors when failures are counted.
func TestWilsonLaws(t *testing.T) {
	for n := 1; n < 60; n++ {
		for k := 0; k <= n; k++ {
			lo, hi := Wilson(k, n, 0.95)
			p := float64(k) / float64(n)
			if !(0 <= lo && lo <= p && p <= hi && hi <= 1) {
				t.Errorf("%d of %d: %g to %g does not hold %g", k, n, lo, hi, p)
			}
			mlo, mhi := Wilson(n-k, n, 0.95)
			if math.Abs(mlo-(1-hi)) > 1e-15 || math.Abs(mhi-(1-lo)) > 1e-15 {
				t.Errorf("%d of %d: mirrored %g to %g", k, n, mlo, mhi)
			}
			if l, h := Wilson(2*k, 2*n, 0.95); h-l >= hi-lo {
				t.Errorf("%d of %d: not narrower at twice the number", k, n)
			}
			if l, h := Wilson(k, n, 0.99); h-l <= hi-lo {
				t.Errorf("%d of %d: not wider at 99 %%", k, n)
			}
		}
	}
}

func TestYields(t *testing.T) {
	c := Counts{Inspected: 8, FirstPass: 5, Passed: 7, Concession: 1}
	first, ok1 := c.FirstPassYield()
	final, ok2 := c.FinalYield()
	if first != 0.625 || final != 0.875 || !ok1 || !ok2 {
		t.Errorf("got %g %v, %g %v, want 0.625, 0.875", first, ok1, final, ok2)
	}
	if _, ok := (Counts{Registered: 3}).FirstPassYield(); ok {
		t.Error("a yield before the first inspection")
	}
}
