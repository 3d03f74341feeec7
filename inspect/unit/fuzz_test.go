package unit

import (
	"math"
	"testing"
)

// FuzzReadLength: what is read is a finite length, written and read again it is the same to the nanometre.
func FuzzReadLength(f *testing.F) {
	for _, s := range []string{"0.25", "0,25 mm", `0.010"`, "10 thou", "1 7/64 in", "-3/64", "64ths", "1e300", "0x1p-2", "7/0", "−1"} {
		f.Add(s, 0)
		f.Add(s, 1)
	}
	f.Fuzz(func(t *testing.T, text string, without int) {
		u := Unit(((without % 2) + 2) % 2)
		mm, err := ReadLength(text, u)
		if err != nil {
			return
		}
		if math.IsNaN(mm) {
			t.Errorf("%q is no number", text)
		}
		if math.Abs(mm) > 1e6 {
			return
		}
		again, err := ReadLength(Millimetre.Length(mm, 9, false), Inch)
		if err != nil || math.Abs(again-mm) > 1e-8 {
			t.Errorf("%q is %v mm, written and read again %v, %v", text, mm, again, err)
		}
	})
}
