package draw

import (
	"slices"
	"strings"
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

func TestClearanceGridMarksPredictedBuzz(t *testing.T) {
	spec := &inspect.Spec{Strings: []inspect.String{{Number: 6, Name: "E2"}}}
	g := ClearanceMap(spec, []inspect.Clearance{
		{String: 6, HeldFret: 0, LeastMM: new(0.45), AtFret: 1, MarginMM: new(0.3), MarginAtFret: 1},
		{String: 6, HeldFret: 3, LeastMM: new(0.05), AtFret: 9, MarginMM: new(-0.02), MarginAtFret: 9},
	}, unit.Millimetre)
	if !slices.Equal(g.Held, []int{0, 3}) || g.Rows[0].Cells[0].Touches || !g.Rows[0].Cells[1].Touches {
		t.Errorf("got %+v", g)
	}
	if want := "string 6 pressed at fret 3, touches 9"; !strings.Contains(g.Buzz, want) {
		t.Errorf("%q does not say %q", g.Buzz, want)
	}
}
