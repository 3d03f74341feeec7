package web

import (
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/draw"
	"sagitta/station/web/show"
)

func TestParetoRunsToTheWhole(t *testing.T) {
	rows := show.ParetoOf([]batch.Reason{{Name: "action", Necks: 1}, {Name: "fall_away", Necks: 6}, {Name: "relief", Necks: 3}}, nil)
	var names []string
	for i, r := range rows {
		names = append(names, r.Name)
		if i > 0 && (r.Necks > rows[i-1].Necks || r.Cumulative <= rows[i-1].Cumulative) {
			t.Errorf("row %d of the Pareto table is out of order: %+v", i, r)
		}
	}
	if !slices.Equal(names, []string{"fall-away", "relief", "action"}) || rows[0].Share != 60 || rows[2].Cumulative != 100 {
		t.Errorf("got %+v", rows)
	}
}

// The interval of 81 of 263 is the worked example of Newcombe, "Two-sided confidence intervals for the single
// proportion", Statistics in Medicine 17 (1998), table I: score method without continuity correction, 0.2553 to 0.3662.
func TestYieldShowsTheWilsonInterval(t *testing.T) {
	y := show.YieldOf("Yield", "", 81, 263)
	if lo, hi := show.Fixed(y.Lo, 2, false), show.Fixed(y.Hi, 2, false); lo != "25.53" || hi != "36.62" {
		t.Errorf("the interval is %s to %s %%", lo, hi)
	}
}

func TestTimesShowTheirDateWhenNotToday(t *testing.T) {
	now := time.Date(2026, 11, 25, 13, 0, 0, 0, time.Local)
	for want, at := range map[string]time.Time{
		"07:12": time.Date(2026, 11, 25, 7, 12, 0, 0, time.Local), "2026-11-24 23:59": time.Date(2026, 11, 24, 23, 59, 0, 0, time.Local), "": {},
	} {
		if got := show.When(at, now); got != want {
			t.Errorf("when(%v) = %q, want %q", at, got, want)
		}
	}
}

func TestLengthsOfFormsReadBackInEitherUnit(t *testing.T) {
	for _, mm := range []float64{0.01, 0.0127, 1, 2.54, 305, 0.003} {
		for _, u := range []unit.Unit{unit.Millimetre, unit.Inch} {
			got, err := show.ParseLength(show.ExactValue(mm, u), u)
			if err != nil || got != mm {
				t.Errorf("%g mm shown in %s as %q reads back as %g, %v", mm, u, show.ExactValue(mm, u), got, err)
			}
		}
	}
	for text, want := range map[string]float64{"0,5": 0.5, "1in": 25.4, "2 mm": 2, "-.012 in": -0.3048} {
		if got, err := show.ParseLength(text, unit.Millimetre); err != nil || got != want {
			t.Errorf("parseLength(%q) = %g, %v; want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"", "one", "NaN", "1e999", "1 2"} {
		if got, err := show.ParseLength(text, unit.Millimetre); err == nil {
			t.Errorf("parseLength(%q) = %g without an error", text, got)
		}
	}
}

func TestClearanceGridMarksPredictedBuzz(t *testing.T) {
	spec := &inspect.Spec{Strings: []inspect.String{{Number: 6, Name: "E2"}}}
	g := draw.ClearanceMap(spec, []inspect.Clearance{
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

// TestWhyOffPitch: what keeps a neck out of tune from being judged is said by string and amount.
func TestWhyOffPitch(t *testing.T) {
	const why = "string 5 is 329 cents off pitch: tune, then measure again"
	res := &inspect.Result{Disposition: inspect.Remeasure, Why: why, Characteristics: []inspect.Characteristic{{Name: "relief", Track: "bass", Zone: inspect.NotMeasured}}}
	if got, want := show.WhyWords(&inspect.Spec{}, res, unit.Millimetre), "S"+why[1:]+"."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
