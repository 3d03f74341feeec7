package inspect

import (
	"math"
	"strings"
	"testing"
)

// TestMilderStep: a saddle is not lowered to its target where that makes the string buzz and less already brings the action inside;
// where less does not, the step says its harm itself.
func TestMilderStep(t *testing.T) {
	advice := func(least, upper float64) (string, Advice) {
		s, r := readNeck(t, "W1-good-neck")
		r.Action[0].HeightMM = 2.1
		s.Limits = []Limit{
			{Characteristic: Action, String: NumberIndex(1), Fret: NumberIndex(12), LowerMM: number(1.2), TargetMM: number(1.6), UpperMM: &upper},
			{Characteristic: ClearanceMargin, String: NumberIndex(1), LowerMM: &least},
		}
		a := mustEvaluate(t, s, r, Options{}).Advice[0]
		if a.What != StepAction {
			t.Fatalf("%+v", a)
		}
		return AdviceWords(s, a), a
	}
	_, whole := advice(-1, 2)
	var buzz Predicted
	for _, p := range whole.Predicted {
		if p.Name == ClearanceMargin {
			buzz = p
		}
	}
	if buzz.Before == nil || !(buzz.Value < *buzz.Before) || math.Abs(*whole.Items[0].AmountMM+1) > 1e-9 {
		t.Fatalf("the whole way: %+v", whole)
	}
	least := buzz.Value + 0.3*(*buzz.Before-buzz.Value) // reached by seven tenths of the way
	words, half := advice(least, 2)
	if math.Abs(*half.Items[0].AmountMM+0.5) > 1e-9 || !strings.Contains(half.Why, "Not all the way") || half.Harm != "" {
		t.Errorf("half the way: %s; %+v", words, half)
	}
	words, all := advice(least, 1.605)
	if math.Abs(*all.Items[0].AmountMM+1) > 1e-9 || !strings.Contains(words, "takes out of limits what conforms before it: ") {
		t.Errorf("no less does: %s; %+v", words, all)
	}
}
