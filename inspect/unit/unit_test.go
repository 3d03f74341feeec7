package unit

import (
	"math"
	"testing"
)

// The inch is 25.4 mm exactly: international yard and pound agreement of 1959; the others follow by division.
func TestReadLength(t *testing.T) {
	for _, c := range []struct {
		text    string
		without Unit
		mm      float64
	}{
		{"0.25", Millimetre, 0.25}, {".25", Millimetre, 0.25}, {"0,25", Millimetre, 0.25}, {" 0.25 mm ", Inch, 0.25}, {"0.25mm", Inch, 0.25},
		{"0.010", Inch, 0.254}, {"0.010 in", Millimetre, 0.254}, {`0.010"`, Millimetre, 0.254}, {"0.010 inch", Millimetre, 0.254}, {"10 thou", Millimetre, 0.254},
		{"10", Thousandth, 0.254}, {"7/64", Millimetre, 25.4 * 7 / 64}, {"7/64 in", Millimetre, 25.4 * 7 / 64}, {`1 7/64"`, Millimetre, 25.4 * 71 / 64},
		{"-7/64", Inch, -25.4 * 7 / 64}, {"4 64ths", Millimetre, 25.4 / 16}, {"4", SixtyFourth, 25.4 / 16}, {"-0.02", Millimetre, -0.02}, {"+0.02", Millimetre, 0.02},
		{"2.5e-1", Millimetre, 0.25},
	} {
		mm, err := ReadLength(c.text, c.without)
		if err != nil || math.Abs(mm-c.mm) > 1e-15*math.Max(1, math.Abs(c.mm)) {
			t.Errorf("%q in %s: got %v, %v; want %v", c.text, c.without, mm, err, c.mm)
		}
	}
	for _, text := range []string{"", "mm", "1.2.3", "0x10", "NaN", "Inf", "1e999", "7/0", "7/", "/64", "a/64", "1 2 3/4", "5 cm", "7/64 thou", "1_000", "--1"} {
		if mm, err := ReadLength(text, Millimetre); err == nil {
			t.Errorf("%q: got %v, want an error", text, mm)
		}
	}
}

func TestWrite(t *testing.T) {
	for _, c := range []struct {
		unit     Unit
		mm       float64
		decimals int
		signed   bool
		want     string
	}{
		{Millimetre, 0.3, 2, false, "0.30 mm"}, {Millimetre, 0.3, 2, true, "+0.30 mm"}, {Millimetre, -0.001, 2, true, "0.00 mm"}, {Inch, 0.3048, 4, false, "0.0120 in"},
		{Thousandth, 0.3048, 0, false, "12 thou"}, {SixtyFourth, 25.4 / 16, 0, false, "4 64ths"}, {Inch, -0.254, 3, true, "-0.010 in"},
	} {
		if got := c.unit.Length(c.mm, c.decimals, c.signed); got != c.want {
			t.Errorf("%v mm in %s: got %q, want %q", c.mm, c.unit, got, c.want)
		}
	}
}

// What is written can be read again, in every unit.
func TestWrittenIsRead(t *testing.T) {
	for u := Millimetre; u <= SixtyFourth; u++ {
		for mm := -3.0; mm < 3; mm += 0.0173 {
			got, err := ReadLength(u.Length(mm, 9, true), Millimetre)
			if err != nil || math.Abs(got-mm) > 1e-7 {
				t.Fatalf("%v mm written as %q reads as %v, %v", mm, u.Length(mm, 9, true), got, err)
			}
		}
		if back := u.From(u.To(0.123)); math.Abs(back-0.123) > 1e-15 {
			t.Errorf("%s: 0.123 there and back is %v", u, back)
		}
	}
	if v := Thousandth.To(10); v != 0.254 {
		t.Errorf("10 thou are %v mm, want 0.254", v)
	}
}

func TestDigits(t *testing.T) {
	for _, c := range []struct {
		unit Unit
		step float64
		want int
	}{{Millimetre, 0.01, 2}, {Millimetre, 0.001, 3}, {Millimetre, 0.005, 3}, {Millimetre, 0.1, 1}, {Millimetre, 1, 0}, {Inch, 0.01, 4}, {Inch, 0.0254, 3}, {Inch, 0.001, 5}, {Thousandth, 0.0254, 0}, {Millimetre, 0, 3}} {
		if got := c.unit.Digits(c.step); got != c.want {
			t.Errorf("a step of %v mm in %s: got %d decimals, want %d", c.step, c.unit, got, c.want)
		}
	}
}
