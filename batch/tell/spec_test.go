package tell

import (
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestSpecTellsItsLeaves: the shop's own leaves stand in the routine, in the unit asked for; without any nothing does.
func TestSpecTellsItsLeaves(t *testing.T) {
	leaves := func(mm []float64) string {
		s := (&inspect.Spec{Routine: &inspect.Routine{LeavesMM: mm}}).WithDefaults()
		for _, p := range Spec(s, unit.Millimetre) {
			for _, f := range p.Fields {
				if f.Name == "Feeler leaves of the shop" {
					return f.Value
				}
			}
		}
		return ""
	}
	if got := leaves([]float64{0.2, 0.25}); got != "0.2, 0.25 mm" {
		t.Errorf("got %q", got)
	}
	if got := leaves(nil); got != "" {
		t.Errorf("without leaves: %q", got)
	}
}
