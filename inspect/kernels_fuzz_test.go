package inspect

import (
	"encoding/binary"
	"math"
	"testing"
)

// numbersFrom reads float64 numbers, any bit pattern, from fuzzed bytes.
func numbersFrom(data []byte) []float64 {
	var v []float64
	for ; len(data) >= 8 && len(v) < 120; data = data[8:] {
		v = append(v, math.Float64frombits(binary.LittleEndian.Uint64(data)))
	}
	return v
}

// bytesOf is the inverse, for seeds.
func bytesOf(v ...float64) []byte {
	var data []byte
	for _, x := range v {
		data = binary.LittleEndian.AppendUint64(data, math.Float64bits(x))
	}
	return data
}

// split cuts the numbers into k equally long parts.
func split(v []float64, k int) [][]float64 {
	n := len(v) / k
	parts := make([][]float64, k)
	for i := range parts {
		parts[i] = v[i*n : (i+1)*n]
	}
	return parts
}

// addSeeds adds ordinary, degenerate and broken numbers.
func addSeeds(f *testing.F) {
	nan, inf := math.NaN(), math.Inf(1)
	f.Add([]byte{})
	f.Add(bytesOf(1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 4, 1, 5, 9, 2, 6, 5, 3))
	f.Add(bytesOf(0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0))
	f.Add(bytesOf(1, 2, nan, 4, 5, inf, -inf, 8, 9))
	f.Add(bytesOf(1e99, -1e99, 1e-300, 5e-324, 1e308, -1, 1, 0, 1))
	f.Add(bytesOf(1e6, 1e6+1, 1e6+2, 0, 1, 0, 3, 3, 3, 1e6, 1e6, 1e6))
	f.Add(bytesOf(0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0, -0.1, -0.2, -0.2, -0.1, 0, 0.1, 5))
	u, y, z := neckCrowns(7)
	f.Add(bytesOf(append(append(u, y...), z...)...))
}

// mustBeFinite fails on NaN and infinities in a result without error.
func mustBeFinite(t *testing.T, err error, values ...float64) {
	t.Helper()
	if err != nil {
		return
	}
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("results %v without an error", values)
		}
	}
}

func FuzzStraightness(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := split(numbersFrom(data), 2)
		m, ls, err := Straightness(v[0], v[1])
		mustBeFinite(t, err, m.Zone, ls.T, ls.P, ls.V, ls.Q)
		mustBeFinite(t, err, m.Coefficients...)
		if err == nil && m.Zone < 0 {
			t.Fatalf("zone %v", m.Zone)
		}
	})
}

func FuzzFlatness(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := split(numbersFrom(data), 3)
		m, ls, err := Flatness(v[0], v[1], v[2])
		mustBeFinite(t, err, m.Zone, ls.T, ls.P, ls.V, ls.Q)
		mustBeFinite(t, err, m.Coefficients...)
	})
}

func FuzzLevelZone(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := split(numbersFrom(data), 3)
		m, err := LevelZone(v[0], v[1], v[2])
		mustBeFinite(t, err, m.Zone)
		mustBeFinite(t, err, m.Coefficients...)
		s, err := NewLevelSolver(v[0], v[1])
		if err != nil {
			return
		}
		zone, err := s.Solve(v[2])
		mustBeFinite(t, err, zone)
		if err == nil {
			zone, err = s.Perturb(len(v[2])/2, v[2][0])
			mustBeFinite(t, err, zone)
		}
	})
}

func FuzzMinimumZoneOf(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := numbersFrom(data)
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
		mustBeFinite(t, err, m.Zone)
		mustBeFinite(t, err, m.Coefficients...)
		if err == nil && ordinary(rows, z) {
			if err := m.prove(rows, z); err != nil {
				t.Fatalf("%v\nrows %v\nz %v", err, rows, z)
			}
		}
		c, err := FitLeastSquares(rows, z)
		mustBeFinite(t, err, c...)
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
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := numbersFrom(data)
		if len(v) < 6 {
			return
		}
		m := MinimumZone{Zone: v[0], Coefficients: v[1:3], Contacts: []Contact{{int(data[3]) - 4, int(data[1]) - 2, v[3]}, {0, 1, v[4]}}}
		var rows [][]float64
		for i := range v[5:] {
			rows = append(rows, v[i:i+2])
		}
		if m.prove(rows, v[5:]) == nil && !(m.Zone >= 0) {
			t.Fatalf("proved %+v", m)
		}
	})
}

func FuzzBendCurve(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := split(numbersFrom(data), 2)
		b, err := BendCurve(v[0], v[1])
		mustBeFinite(t, err, b.C[:]...)
		mustBeFinite(t, err, b.Cost, b.Gradient)
	})
}

func FuzzCircleRadius(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := split(numbersFrom(data), 2)
		radius, err := CircleRadius(v[0], v[1])
		mustBeFinite(t, err, radius)
		if err == nil && radius == 0 {
			t.Fatal("radius 0")
		}
	})
}

func FuzzPropagateAndSample(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		v := split(numbersFrom(data), 2)
		product := func(q []float64) (float64, error) {
			p := 1.0
			for _, x := range q {
				p *= x
			}
			return p, nil
		}
		u, err := Propagate(product, v[0], v[1])
		mustBeFinite(t, err, u)
		mean, sd, low, high, err := sample(product, v[0], v[1], 100, uint64(len(data)))
		mustBeFinite(t, err, mean, sd, low, high)
	})
}

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
		if checkNumbers("argument", []float64{scale, radius, y}) != nil || n < -1000 || n > 1000 {
			return
		}
		mustBeFinite(t, nil, FretX(scale, n), TrackY(y, -y, 648, radius), Sagitta(radius, y), Developed(scale, y, radius),
			BoardRadius(radius, y, 648, 22, scale))
	})
}
