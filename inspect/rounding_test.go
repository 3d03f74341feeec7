package inspect

import (
	"math"
	"strconv"
	"strings"
	"testing"
)

// TestRounded: what stands in a line for people, by hand. A gauge's step gives the last digit (JCGM 100:2008, 7.2.6: no more
// digits than mean something); a value never stands on its limit or beyond it while it is not, and U is never nothing.
func TestRounded(t *testing.T) {
	n := number
	for _, c := range []struct {
		name                 string
		c                    Characteristic
		step, unit           float64
		value, u, up, margin string
	}{
		{"a step of 0.01", Characteristic{Unit: "mm", Value: n(0.2867), U: n(0.0062), Upper: n(0.36)}, 0.01, 1, "0.29", "0.01", "0.36", "+0.07"},
		{"a step of 0.001", Characteristic{Unit: "mm", Value: n(0.2867), U: n(0.0062), Upper: n(0.36)}, 0.001, 1, "0.287", "0.012", "0.360", "+0.073"},
		{"a step of 0.0005", Characteristic{Unit: "mm", Value: n(0.2867), U: n(0.0005), Upper: n(0.36)}, 0.0005, 1, "0.2867", "0.0010", "0.3600", "+0.0733"},
		{"no step", Characteristic{Unit: "mm", Value: n(0.2867), Upper: n(0.36)}, 0, 1, "0.287", "", "0.360", "+0.073"},
		{"on its limit by rounding", Characteristic{Unit: "mm", Value: n(0.044), U: n(0.0062), Upper: n(0.04)}, 0.01, 1, "0.044", "0.012", "0.040", "−0.004"},
		{"beyond a finer limit by rounding", Characteristic{Unit: "mm", Value: n(0.126), Upper: n(0.128)}, 0.01, 1, "0.126", "", "0.128", "+0.002"},
		{"a margin of nothing by rounding", Characteristic{Unit: "mm", Value: n(0.131), Upper: n(0.128)}, 0.01, 1, "0.131", "", "0.128", "−0.003"},
		{"on its limit in fact", Characteristic{Unit: "mm", Value: n(0.04), Upper: n(0.04)}, 0.01, 1, "0.04", "", "0.04", "0.00"},
		{"but for the machine's last digit", Characteristic{Unit: "mm", Value: n(0.1 + 0.2), Upper: n(0.3)}, 0.01, 1, "0.30", "", "0.30", "0.00"},
		{"U below the step", Characteristic{Unit: "mm", Value: n(1.95), U: n(0.0005), Upper: n(2.3)}, 0.01, 1, "1.95", "0.01", "2.30", "+0.35"},
		{"U far above the step", Characteristic{Unit: "mm", Value: n(304.96), U: n(5.94), Upper: n(320)}, 0.01, 1, "305", "12", "320", "+15"},
		{"a ruler", Characteristic{Unit: "mm", Value: n(1.953), U: n(0.072), Upper: n(2.3)}, 0.001, 1, "1.95", "0.14", "2.30", "+0.35"},
		{"leaves", Characteristic{Unit: "mm", Method: "leaves", Value: n(0.375), U: n(0.0144), Upper: n(0.5), IntervalMM: &[2]*float64{n(0.35), n(0.40)}}, 0.01, 1, "0.375", "0.029", "0.500", "+0.100"},
		{"inches, a step of 0.001 mm", Characteristic{Unit: "mm", Value: n(0.3048), U: n(0.00127), Upper: n(0.3556)}, 0.001, 25.4, "0.01200", "0.00010", "0.01400", "+0.00200"},
		{"inches, a step of 0.01 mm", Characteristic{Unit: "mm", Value: n(0.3048), U: n(0.00635), Upper: n(0.3556)}, 0.01, 25.4, "0.0120", "0.0005", "0.0140", "+0.0020"},
		{"inches, on its limit by rounding", Characteristic{Unit: "mm", Value: n(0.3566), Upper: n(0.3556)}, 0.01, 25.4, "0.01404", "", "0.01400", "−0.00004"},
		{"degrees", Characteristic{Unit: "deg", Value: n(-0.128), U: n(0.015), Upper: n(0.5)}, 0.01, 25.4, "−0.13", "0.03", "0.50", "+0.63"},
		{"cents", Characteristic{Unit: "cents", Value: n(4.98), Upper: n(5)}, 0.01, 1, "4.98", "", "5.00", "+0.02"},
	} {
		r := c.c.Rounded(c.step, c.unit)
		m, _ := WorstMargin(c.c)
		u := ""
		if c.c.U != nil {
			u = r.U(*c.c.U)
		}
		if got := [4]string{r.Value(*c.c.Value, false), u, r.Limit(*c.c.Upper), r.Value(m, true)}; got != [4]string{c.value, c.u, c.up, c.margin} {
			t.Errorf("%s: %q, want %q", c.name, got, [4]string{c.value, c.u, c.up, c.margin})
		}
	}
}

// FuzzRounded: whatever the value, its limit and the step, the line does not contradict the verdict.
func FuzzRounded(f *testing.F) {
	f.Add(0.044, 0.04, 0.006, 0.01)
	f.Add(-3.0, 5.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, v, limit, u, step float64) {
		for _, x := range []float64{v, limit} {
			if math.IsNaN(x) || math.Abs(x) > 1e6 {
				return // no length of a neck
			}
		}
		c := Characteristic{Unit: "mm", Value: &v, U: &u, Upper: &limit}
		r := c.Rounded(step, 1)
		if r.Digits < 0 || r.Digits > finestDigits {
			t.Fatalf("%d digits", r.Digits)
		}
		read := func(s string) float64 {
			x, err := strconv.ParseFloat(strings.ReplaceAll(s, "−", "-"), 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		shown := read(r.Value(v, false)) - read(r.Limit(limit))
		if (shown != 0 || math.Abs(v) < 1e3) && v != limit && math.Abs(v-limit) > 1e-5 && (shown > 0) != (v > limit) {
			t.Errorf("%v against %v reads %s against %s", v, limit, r.Value(v, false), r.Limit(limit))
		}
		if u > 0 && !math.IsInf(u, 0) && strings.Trim(r.U(u), "0.") == "" {
			t.Errorf("U of %v reads %s", u, r.U(u))
		}
	})
}
