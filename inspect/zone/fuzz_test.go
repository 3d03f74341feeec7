package zone

import (
	"math"
	"testing"

	"sagitta/inspect/fit"
	"sagitta/inspect/internal/kerneltest"
)

func FuzzStraightness(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Split(kerneltest.Numbers(data), 2)
		m, ls, err := Straightness(v[0], v[1])
		kerneltest.MustBeFinite(t, err, m.Zone, ls.T, ls.P, ls.V, ls.Q)
		kerneltest.MustBeFinite(t, err, m.Coefficients...)
		if err == nil && m.Zone < 0 {
			t.Fatalf("zone %v", m.Zone)
		}
	})
}

func FuzzFlatness(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Split(kerneltest.Numbers(data), 3)
		m, ls, err := Flatness(v[0], v[1], v[2])
		kerneltest.MustBeFinite(t, err, m.Zone, ls.T, ls.P, ls.V, ls.Q)
		kerneltest.MustBeFinite(t, err, m.Coefficients...)
	})
}

func FuzzLevelZone(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Split(kerneltest.Numbers(data), 3)
		m, err := Level(v[0], v[1], v[2])
		kerneltest.MustBeFinite(t, err, m.Zone)
		kerneltest.MustBeFinite(t, err, m.Coefficients...)
		s, err := NewLevelSolver(v[0], v[1])
		if err != nil {
			return
		}
		zone, err := s.Solve(v[2])
		kerneltest.MustBeFinite(t, err, zone)
		if err == nil {
			zone, err = s.Perturb(len(v[2])/2, v[2][0])
			kerneltest.MustBeFinite(t, err, zone)
		}
	})
}

func FuzzMinimumOf(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Numbers(data)
		if len(v) == 0 {
			return
		}
		p := 1 + int(data[0])%5
		var rows [][]float64
		var z []float64
		for ; len(v) > p; v = v[p+1:] {
			rows, z = append(rows, v[:p]), append(z, v[p])
		}
		m, err := minimumZoneOf(rows, z)
		kerneltest.MustBeFinite(t, err, m.Zone)
		kerneltest.MustBeFinite(t, err, m.Coefficients...)
		if err == nil && ordinary(rows, z) {
			if err := m.prove(rows, z); err != nil {
				t.Fatalf("%v\nrows %v\nz %v", err, rows, z)
			}
		}
		c, err := fit.LeastSquares(rows, z)
		kerneltest.MustBeFinite(t, err, c...)
	})
}

// ordinary reports whether all numbers are 0 or between a micrometre and a kilometre in mm. Functions and heights whose
// sizes differ beyond that lose the digits that a proof needs.
func ordinary(rows [][]float64, z []float64) bool {
	for i, row := range rows {
		for _, v := range append([]float64{z[i]}, row...) {
			if v = math.Abs(v); v != 0 && (v < 1e-3 || v > 1e6) {
				return false
			}
		}
	}
	return true
}

func FuzzProve(f *testing.F) {
	kerneltest.Seeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := kerneltest.Numbers(data)
		if len(v) < 6 {
			return
		}
		m := Minimum{Zone: v[0], Coefficients: v[1:3], Contacts: []Contact{{int(data[3]) - 4, int(data[1]) - 2, v[3]}, {0, 1, v[4]}}}
		var rows [][]float64
		for i := range v[5:] {
			rows = append(rows, v[i:i+2])
		}
		if m.prove(rows, v[5:]) == nil && !(m.Zone >= 0) {
			t.Fatalf("proved %+v", m)
		}
	})
}
