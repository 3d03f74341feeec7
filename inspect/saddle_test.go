package inspect

import (
	"strings"
	"testing"
)

// TestActionAdvice: the saddle moves twice the change at fret 12, and the string line then gives the target.
func TestActionAdvice(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	r.Action[0].HeightMM = 2.1 // target 1.6
	res := mustEvaluate(t, s, r, Options{})
	if len(res.Advice) != 1 || res.Advice[0].What != "action" || len(res.Advice[0].Items) != 1 {
		t.Fatalf("%+v", res.Advice)
	}
	if item := res.Advice[0].Items[0]; item.String != 1 || *item.AmountMM > -0.9999999 || *item.AmountMM < -1.0000001 {
		t.Errorf("saddle: %+v, want 1.0 mm down", item)
	}
	// Clearance: raise the saddle by the missing margin and evaluate again.
	s, r = readNeck(t, "W5-hump")
	res = mustEvaluate(t, s, r, Options{})
	e := evaluation{}
	e.neck, _ = newNeck(filled(s), r, true)
	e.clearances = res.Clearance
	c := row(t, res, rowKey{name: ClearanceMargin, string: 1})
	move := e.saddleMove(c)
	for i := range r.Action {
		if h := &r.Action[i]; h.String == 1 {
			h.HeightMM += move * FretX(648, 12) / 648
		}
	}
	for i := range r.NutHeight {
		if h := &r.NutHeight[i]; h.String == 1 {
			h.HeightMM += move * FretX(648, 1) / 648
		}
	}
	after := row(t, mustEvaluate(t, s, r, Options{}), rowKey{name: ClearanceMargin, string: 1})
	if *c.Value >= 0 || *after.Value < -1e-9 || *after.Value > 1e-9 {
		t.Errorf("margin %v, saddle %+.4f, then %v; want 0", *c.Value, move, *after.Value)
	}
}

// A bow taken out of a board without a rod, its strings where they are, would leave them on the frets: no height below 0 is
// predicted, and the saddles are listed by their strings' numbers.
func TestAdviceOnStringsThatWouldLieOnTheFrets(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Neck.Rod, s.Neck.RodTurnsLeft = "none", nil
	xa, xk, xb := FretX(s.Neck.ScaleMM, 1), FretX(s.Neck.ScaleMM, 7), FretX(s.Neck.ScaleMM, 17)
	for i := range r.Profile {
		for j, z := range r.Profile[i].ZMM {
			if d := xb - FretX(s.Neck.ScaleMM, j+1); z != nil && d > 0 {
				*z += 1.2 * d * d / ((xk - xa) * (xb - xk))
			}
		}
	}
	res := mustEvaluate(t, s, r, Options{})
	if len(res.Advice) != 3 || res.Advice[1].What != StepNut || res.Advice[2].What != StepAction {
		t.Fatalf("advice %+v", res.Advice)
	}
	if want := "Strings 6 to 1 would then lie on the frets"; !strings.Contains(res.Advice[0].Why, want) {
		t.Errorf("no %q in %s", want, res.Advice[0].Why)
	}
	for _, a := range res.Advice {
		if strings.Contains(a.Why, "open is −") {
			t.Errorf("a height below 0: %s", a.Why)
		}
		for _, p := range a.Predicted {
			if (p.Name == Action || p.Name == NutHeight) && (p.Value < 0 || p.Before != nil && *p.Before < 0) {
				t.Errorf("step %d: %s, string %d: a height below 0", a.Order, p.Name, p.String)
			}
		}
	}
	for i, item := range res.Advice[2].Items {
		if item.String != i+1 {
			t.Errorf("saddle %d is string %d's", i+1, item.String)
		}
	}
}
