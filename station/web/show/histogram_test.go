package show

import (
	"testing"
)

// A class of a histogram never straddles a limit, and a value at the upper limit belongs inside.
func TestHistogramClasses(t *testing.T) {
	lower, upper := 0.2, 0.36
	x := []float64{0.19, 0.2, 0.25, 0.26, 0.27, 0.28, 0.29, 0.3, 0.36, 0.361}
	in, out := 0, 0
	for _, r := range Classes(x, &lower, &upper, 0.001) {
		if (r.From < lower-1e-9 && r.To > lower+1e-9) || (r.From < upper-1e-9 && r.To > upper+1e-9) {
			t.Errorf("the class %v to %v straddles a limit", r.From, r.To)
		}
		if r.Nonconform {
			out += r.Necks
		} else {
			in += r.Necks
		}
	}
	if in != 8 || out != 2 {
		t.Errorf("%d inside and %d outside, want 8 and 2", in, out)
	}
}
