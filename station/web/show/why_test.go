package show

import (
	"testing"

	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// TestWhyOffPitch: what keeps a neck out of tune from being judged is said by string and amount.
func TestWhyOffPitch(t *testing.T) {
	const why = "string 5 is 329 cents off pitch: tune, then measure again"
	res := &inspect.Result{Disposition: inspect.Remeasure, Why: why, Characteristics: []inspect.Characteristic{{Name: "relief", Track: "bass", Zone: inspect.NotMeasured}}}
	if got, want := WhyWords(&inspect.Spec{}, res, unit.Millimetre), "S"+why[1:]+"."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
