package show

import (
	"testing"

	"sagitta/inspect/unit"
)

func TestLengthsOfFormsReadBackInEitherUnit(t *testing.T) {
	for _, mm := range []float64{0.01, 0.0127, 1, 2.54, 305, 0.003} {
		for _, u := range []unit.Unit{unit.Millimetre, unit.Inch} {
			got, err := ParseLength(ExactValue(mm, u), u)
			if err != nil || got != mm {
				t.Errorf("%g mm shown in %s as %q reads back as %g, %v", mm, u, ExactValue(mm, u), got, err)
			}
		}
	}
	for text, want := range map[string]float64{"0,5": 0.5, "1in": 25.4, "2 mm": 2, "-.012 in": -0.3048} {
		if got, err := ParseLength(text, unit.Millimetre); err != nil || got != want {
			t.Errorf("parseLength(%q) = %g, %v; want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"", "one", "NaN", "1e999", "1 2"} {
		if got, err := ParseLength(text, unit.Millimetre); err == nil {
			t.Errorf("parseLength(%q) = %g without an error", text, got)
		}
	}
}

// TestUncertaintyHasTwoDigits: more would say more than is known of it.
func TestUncertaintyHasTwoDigits(t *testing.T) {
	for mm, want := range map[float64][2]string{0.1: {"0.10 mm", "0.0039 in"}, 0.0046188: {"0.0046 mm", "0.00018 in"}, 12.3: {"12 mm", "0.48 in"}, 0: {"0.0000 mm", "0.000000 in"}} {
		if a, b := Uncertainty(mm, unit.Millimetre), Uncertainty(mm, unit.Inch); a != want[0] || b != want[1] {
			t.Errorf("%g: %q and %q, want %q", mm, a, b, want)
		}
	}
}
