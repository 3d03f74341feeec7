package bench

import (
	"math"
	"testing"
)

// FuzzParseValue: whatever is typed, a value that is taken is finite, in a unit that is known, and its leaves add up.
func FuzzParseValue(f *testing.F) {
	for _, s := range []string{"0.31", ".012in", "7/64", "1 7/64 in", "10 thou", "-3 cents", "82.4 Hz", "1.95 ± 0.04 mm", "0.15+0.08", "0.1+0.1+0.1", "1/0", "9e99", "0,31mm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, ok := parseValue(text, "mm")
		if !ok {
			return
		}
		if math.IsNaN(v.number) || math.IsInf(v.number, 0) || v.unit == "" || v.expanded != nil && !(*v.expanded >= 0) {
			t.Errorf("%q is %+v", text, v)
		}
		sum := 0.0
		for _, mm := range v.stack {
			sum += mm
		}
		if len(v.stack) > 0 && (len(v.stack) != 2 || math.Abs(sum-v.number) > 1e-6) {
			t.Errorf("%q are leaves of %v, together %v", text, v.stack, v.number)
		}
	})
}
