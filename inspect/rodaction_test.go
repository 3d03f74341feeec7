package inspect

import (
	"math"
	"testing"
)

// TestActionRatio: the ratio of what a turn does to action is learned from pairs before and after it, worked out by hand from the
// update's formula; what no pair can tell teaches nothing.
func TestActionRatio(t *testing.T) {
	s, _ := readNeck(t, "W1-good-neck")
	s.fillDatum()
	factor := reliefToAction(648, 1, 17, 7, 12)
	if got := s.reliefToAction(1, 12); math.Abs(got-factor) > 1e-12 {
		t.Fatalf("factor %v, want %v", got, factor)
	}
	step := turned(0.25, 0.50, 0.40)
	step.Action = []ActionChange{{String: 1, Fret: 12, BeforeMM: 2, AfterMM: 1.85, UMM: number(0.02)}, {String: 6, Fret: 12, BeforeMM: 2.2, AfterMM: 2.03, UMM: number(0.02)}}
	m := LearnRod(s, []RodStep{step})
	seen := 0.16 / (factor * 0.1)
	noise := math.Pow(0.02/math.Sqrt2/(factor*0.1), 2) + math.Pow(0.82*0.008/0.1, 2)
	variance := 1 / (1/(0.12*0.12) + 1/noise)
	mean := variance * (0.82/(0.12*0.12) + seen/noise)
	if math.Abs(m.ActionRatioMean-mean) > 1e-12 || math.Abs(m.ActionRatioSD-math.Sqrt(variance)) > 1e-12 || m.ActionPairs != 1 {
		t.Errorf("got %+v, want ratio %v, sd %v of one pair", m, mean, math.Sqrt(variance))
	}
	small := turned(0.25, 0.43, 0.40) // no more than four standard uncertainties
	small.Action = step.Action
	wrong := turned(0.25, 0.40, 0.50)
	wrong.Action = step.Action
	for name, p := range map[string]RodStep{"a small fall": small, "the wrong way": wrong, "no action": turned(0.25, 0.50, 0.40)} {
		if m := LearnRod(s, []RodStep{p}); m.ActionPairs != 0 {
			t.Errorf("%s taught %+v", name, m)
		}
	}
	if mean, sd := (RodModel{}).ActionRatio(); mean != 0.82 || sd != 0.12 {
		t.Errorf("prior %v, %v", mean, sd)
	}
}

// TestStepsOfOneNeckAreLearnedTogether: a slack zone's steps are known as such only one after the other.
func TestStepsOfOneNeckAreLearnedTogether(t *testing.T) {
	steps := []RodStep{turned(0.25, 0.50, 0.49), turned(0.125, 0.49, 0.46), turned(0.125, 0.46, 0.40)}
	for i := range steps {
		steps[i].Neck = "one"
	}
	s := &Spec{Neck: NeckSpec{Rod: "double"}}
	if m := LearnRod(s, steps); m.Pairs != 1 {
		t.Errorf("%d pairs taught, want the one after it took hold", m.Pairs)
	}
	if _, _, taught := (RodModel{}).Neck("double", steps); taught != 1 {
		t.Errorf("%d of the neck's steps taught", taught)
	}
}
