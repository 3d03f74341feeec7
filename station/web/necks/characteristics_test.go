package necks

import (
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/webtest"
)

// TestUOfARow checks the column U.
func TestUOfARow(t *testing.T) {
	s := shop(t).Fill()
	res := s.Inspect("QM-2611-0004", 0.46, 0).Result
	for _, lengths := range []unit.Unit{unit.Millimetre, unit.Inch} {
		seen := 0
		for _, c := range res.Characteristics {
			if c.Value != nil && c.U != nil && *c.U > 0 {
				seen++
				webtest.WantsU(t, c, rowOf(s.Spec.Spec.WithDefaults(), c, lengths).U, lengths)
			}
		}
		if seen < 5 {
			t.Errorf("only %d values have a U", seen)
		}
	}
}

// A value at its bound has no U of its own: its cell says so instead of standing empty.
func TestNoUIsADash(t *testing.T) {
	for u, want := range map[float64]string{0: "–", 0.01: "0.020"} {
		if got := rowOf(&inspect.Spec{}, inspect.Characteristic{Name: inspect.Hump, Track: "bass", Unit: "mm", Value: new(0.0), U: &u}, unit.Millimetre); got.U != want {
			t.Errorf("u %g: U %q, want %q", u, got.U, want)
		}
	}
}
