package show

import (
	"slices"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Strings' heights that no gauge measures are typed as a ruler reads them, 0.1 mm expanded, which is over a quarter of 0.15 mm
// and not of 0.6 mm.
func TestRulerIsTooCoarse(t *testing.T) {
	n := func(v float64) *float64 { return &v }
	spec := &inspect.Spec{Limits: []inspect.Limit{
		{Characteristic: inspect.Action, String: inspect.EachIndex(), LowerMM: n(1.4), UpperMM: n(2)},
		{Characteristic: inspect.NutHeight, String: inspect.EachIndex(), LowerMM: n(0.4), UpperMM: n(0.55)},
	}}
	fine := batch.Gauge{Name: "height gauge", Measures: []batch.Kind{batch.ActionHeight, batch.NutHeight}, RepeatabilityU: 0.003}
	want := []string{"No gauge measures the nut height: it is typed as read with a ruler, whose U of 0.10 mm is over a quarter of the tolerance of nut height."}
	if got := CoarseWarnings(spec, nil, unit.Millimetre); !slices.Equal(got, want) {
		t.Errorf("without a gauge: %q, want %q", got, want)
	}
	if got := CoarseWarnings(spec, []batch.Gauge{fine}, unit.Millimetre); len(got) > 0 {
		t.Errorf("with the height gauge: %q", got)
	}
}
