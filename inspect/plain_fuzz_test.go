package inspect

import (
	"math"
	"testing"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

func FuzzConformity(f *testing.F) {
	f.Add(0.3, 0.006, 0.2, 0.36, 1.645, byte(3))
	f.Add(0.2, 0.0, 0.2, 0.2, 0.0, byte(3))
	f.Add(math.NaN(), 1.0, math.Inf(-1), math.Inf(1), -1.0, byte(2))
	f.Add(1e300, 1e-300, -1e308, 1e308, 1e10, byte(1))
	f.Fuzz(func(t *testing.T, y, u, lower, upper, factor float64, which byte) {
		lo, hi := &lower, &upper
		if which&1 == 0 {
			lo = nil
		}
		if which&2 == 0 {
			hi = nil
		}
		if p := ConformProbability(y, u, lo, hi); !(p >= 0 && p <= 1) {
			t.Fatalf("p = %v", p)
		}
		for _, rule := range []string{"simple", "guarded_acceptance", "guarded_rejection"} {
			zone, err := Judge(rule, factor, y, u, lo, hi)
			if (err == nil) != (zone == Conforming || zone == Nonconforming || zone == Undecided || zone == NoLimit) {
				t.Fatalf("%s: zone %q, %v", rule, zone, err)
			}
		}
	})
}

// FuzzPlainGeometry: finite arguments of a neck's order give finite places and heights.
func FuzzPlainGeometry(f *testing.F) {
	f.Add(648.0, 305.0, 17.5, 12)
	f.Add(0.0, 0.0, 0.0, 0)
	f.Add(-648.0, -305.0, 1e9, -5)
	f.Fuzz(func(t *testing.T, scale, radius, y float64, n int) {
		if fit.CheckNumbers("argument", []float64{scale, radius, y}) != nil || n < -1000 || n > 1000 {
			return
		}
		kerneltest.MustBeFinite(t, nil, FretX(scale, n), TrackY(y, -y, 648, radius), Sagitta(radius, y), Developed(scale, y, radius),
			NominalRadius(radius, y, FretX(648, 22), scale))
	})
}
