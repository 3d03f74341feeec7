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

func TestClearanceGridIsBassToTreble(t *testing.T) {
	var all []inspect.Clearance
	for _, n := range []int{1, 6, 2} {
		all = append(all, inspect.Clearance{String: n, HeldFret: 3, LeastMM: new(0.4), AtFret: 9, MarginMM: new(-0.01), MarginAtFret: 9})
	}
	g := ClearanceMap(&inspect.Spec{}, all, unit.Millimetre)
	var order []int
	for _, r := range g.Rows {
		order = append(order, r.String)
	}
	if !slices.Equal(order, []int{6, 2, 1}) {
		t.Errorf("rows of strings %v, want 6, 2, 1", order)
	}
	if !strings.Contains(g.Buzz, "string 6 pressed at fret 3, touches 9; string 2") {
		t.Errorf("%q does not begin with the lowest string", g.Buzz)
	}
}
