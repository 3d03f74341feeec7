package tell

import (
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// What failed only through the error is told to have conformed without it, and not that something would be too near its limit.
func TestImpactOnWhatFailedThroughTheError(t *testing.T) {
	s := (&inspect.Spec{}).WithDefaults()
	value, low, high := 2.25, 1.5, 2.2
	moved := batch.MovedValue{Low: 2.05, High: 2.05, Characteristic: inspect.Characteristic{Name: inspect.Action, String: 1, Fret: 12, Unit: "mm", Value: &value,
		Lower: &low, Upper: &high, Zone: inspect.Nonconforming}}
	i := batch.Impact{Outcome: batch.CannotBeTold, Moments: 46, Conform: 46, Moved: []batch.MovedValue{moved}}
	for zone, want := range map[inspect.Zone]string{inspect.Nonconforming: "what failed is action, string 1", inspect.Undecided: "what was not decided is action, string 1"} {
		i.Moved[0].Zone = zone
		got := Impact(s, i, unit.Millimetre)
		for _, want := range []string{"It would have conformed, at whatever moment up to its last reading in doubt the error came; then it should pass when measured again", want, "which would be 2.050 mm (1.500 to 2.200 mm)"} {
			if !strings.Contains(got, want) {
				t.Errorf("%s: %q lacks %q", zone, got, want)
			}
		}
	}
}
