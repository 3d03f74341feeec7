package show

import (
	"strings"
	"testing"
	"time"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestWhyOffPitch: what keeps a neck out of tune from being judged is said by string and amount.
func TestWhyOffPitch(t *testing.T) {
	const why = "string 5 is 329 cents off pitch: tune, then measure again"
	res := &inspect.Result{Disposition: inspect.Remeasure, Why: why, Characteristics: []inspect.Characteristic{{Name: "relief", Track: "bass", Zone: inspect.NotMeasured}}}
	if got, want := WhyWords(&inspect.Spec{}, res, unit.Millimetre, time.Time{}), "S"+why[1:]+"."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestWhyTellsOfTheRod: that the rod went the wrong way is said after why, whether something fails or not.
func TestWhyTellsOfTheRod(t *testing.T) {
	upper, value := 0.4, 0.5
	high := inspect.Characteristic{Name: inspect.Relief, Track: "bass", Value: &value, Upper: &upper, Unit: "mm", Zone: inspect.Nonconforming}
	for _, res := range []*inspect.Result{
		{Why: "all conform", RodNote: "The rod went the wrong way"},
		{Why: "more", RodNote: "The rod went the wrong way", Characteristics: []inspect.Characteristic{high}},
	} {
		if got := WhyWords(&inspect.Spec{}, res, unit.Millimetre, time.Time{}); !strings.HasSuffix(got, ". The rod went the wrong way.") {
			t.Error(got)
		}
	}
}
