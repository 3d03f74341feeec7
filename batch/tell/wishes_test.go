package tell

import (
	"strings"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestHardlyTold: the span that is said to be told is the one that guarded acceptance judges as conforming, to the hundredth, and where there is none it
// says so.
func TestHardlyTold(t *testing.T) {
	lower, upper := 1.3, 1.6
	l := inspect.Limit{Characteristic: inspect.Action, String: inspect.Index{Number: 6}, Fret: inspect.Index{Number: 12}, LowerMM: &lower, UpperMM: &upper}
	const u = 0.05
	words := HardlyTold("ruler", u, []inspect.Limit{l}, unit.Millimetre)
	if !strings.Contains(words, "from 1.39 mm to 1.51 mm. ") {
		t.Fatal(words)
	}
	for read, want := range map[float64]inspect.Zone{1.38: inspect.Undecided, 1.39: inspect.Conforming, 1.51: inspect.Conforming, 1.52: inspect.Undecided, 1.29: inspect.Nonconforming, 1.61: inspect.Nonconforming} {
		zone, err := inspect.Judge(inspect.GuardedAcceptance, inspect.Decision{}.Guard(), read, u, &lower, &upper)
		if err != nil || zone != want {
			t.Errorf("read as %g it is %s, said is %s", read, zone, want)
		}
	}
	if words := HardlyTold("ruler", 0.1, []inspect.Limit{l}, unit.Millimetre); !strings.Contains(words, "one reading cannot show that action, string 6, fret 12 is as wished") || strings.Contains(words, "from") {
		t.Error(words)
	}
}
