package necks

import (
	"testing"

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
