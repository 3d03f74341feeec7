// Package kerneltest holds what the tests of inspect and of its numeric packages share: reference values from outside this
// project, made-up crowns, seeds for fuzzing.
package kerneltest

import (
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"testing"
)

// Load reads one file of published or recomputed reference values; testdata/reference/geometry/README.md
// names the source of each.
func Load(t testing.TB, name string, into any) {
	t.Helper()
	_, here, _, _ := runtime.Caller(0)
	text, err := os.ReadFile(filepath.Join(filepath.Dir(here), "..", "..", "..", "testdata", "reference", "geometry", name))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// Digits returns how many decimal Digits of want got agrees to, at most 16.
func Digits(got, want float64) float64 {
	if got == want {
		return 16
	}
	return math.Min(16, -math.Log10(math.Abs(got-want)/math.Max(math.Abs(got), math.Abs(want))))
}

// Place is where fret n stands on a neck of scale 1: 1 - 2^(-n/12).
func Place(n int) float64 { return 1 - math.Exp2(-float64(n)/12) }

// Crowns returns three tracks of a made-up neck with a bow of 0.3 mm, 5 um of noise and one crown 40 um high.
func Crowns(frets int) (u, y, z []float64) {
	r := rand.New(rand.NewPCG(31, 32))
	for track := range 3 {
		for n := 1; n <= frets; n++ {
			v := Place(n)
			u = append(u, v)
			y = append(y, float64(track-1)*(17+9*v))
			height := -1.2*v*(0.7-v) + 0.005*r.NormFloat64()
			if n == 9 && track == 1 {
				height += 0.040
			}
			z = append(z, height)
		}
	}
	return u, y, z
}

// Numbers reads float64 numbers, any bit pattern, from fuzzed bytes.
func Numbers(data []byte) []float64 {
	var v []float64
	for ; len(data) >= 8 && len(v) < 120; data = data[8:] {
		v = append(v, math.Float64frombits(binary.LittleEndian.Uint64(data)))
	}
	return v
}

// Bytes is the inverse, for seeds.
func Bytes(v ...float64) []byte {
	var data []byte
	for _, x := range v {
		data = binary.LittleEndian.AppendUint64(data, math.Float64bits(x))
	}
	return data
}

// split cuts the numbers into k equally long parts.
func Split(v []float64, k int) [][]float64 {
	n := len(v) / k
	parts := make([][]float64, k)
	for i := range parts {
		parts[i] = v[i*n : (i+1)*n]
	}
	return parts
}

// Seeds adds ordinary, degenerate and broken numbers.
func Seeds(f *testing.F) {
	nan, inf := math.NaN(), math.Inf(1)
	f.Add([]byte{})
	f.Add(Bytes(1, 2, 3, 4, 5, 6, 7, 8, 9, 1, 4, 1, 5, 9, 2, 6, 5, 3))
	f.Add(Bytes(0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0))
	f.Add(Bytes(1, 2, nan, 4, 5, inf, -inf, 8, 9))
	f.Add(Bytes(1e99, -1e99, 1e-300, 5e-324, 1e308, -1, 1, 0, 1))
	f.Add(Bytes(1e6, 1e6+1, 1e6+2, 0, 1, 0, 3, 3, 3, 1e6, 1e6, 1e6))
	f.Add(Bytes(0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0, -0.1, -0.2, -0.2, -0.1, 0, 0.1, 5))
	u, y, z := Crowns(7)
	f.Add(Bytes(append(append(u, y...), z...)...))
}

// MustBeFinite fails on NaN and infinities in a result without error.
func MustBeFinite(t *testing.T, err error, values ...float64) {
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
