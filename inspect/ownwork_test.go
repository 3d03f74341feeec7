package inspect

import (
	"strings"
	"testing"
)

// withOwnWork is a specification whose measurer does all work.
func withOwnWork(s *Spec) *Spec {
	own := *s
	routine := Routine{}
	if s.Routine != nil {
		routine = *s.Routine
	}
	routine.Repairs = Myself
	own.Routine = &routine
	return &own
}

// saidOf is everything that a result's advice says to people.
func saidOf(s *Spec, res *Result) string {
	var all []string
	for _, a := range res.Advice {
		all = append(all, AdviceWords(s, a), a.Why, a.Harm)
		all = append(all, a.Cautions...)
		for _, it := range a.Items {
			all = append(all, it.Note)
		}
	}
	for _, r := range Remedies(s, res) {
		all = append(all, r.Remedies...)
	}
	return strings.Join(all, "\n")
}

// ownInstead evaluates a neck that is a repairer's as one whose measurer does all work: rework, the same reason, the step itself with its
// caution, and no word of a repairer.
func ownInstead(t *testing.T, s *Spec, r *Readings, why string) {
	t.Helper()
	own := withOwnWork(s)
	res := mustEvaluate(t, own, r, Options{})
	if res.Disposition != Rework || len(res.Advice) == 0 {
		t.Fatalf("by oneself: %s %+v", res.Disposition, res.Advice)
	}
	first := res.Advice[0]
	if first.What != StepRepairer || first.Do == "" || !strings.Contains(first.Why, why) || first.Cautions[0] != cautionOwnWork || first.Cautions[len(first.Cautions)-1] != CautionPerson {
		t.Errorf("by oneself the first step is %+v", first)
	}
	if said := saidOf(own, res); strings.Contains(said, "repairer") {
		t.Errorf("by oneself a repairer is spoken of:\n%s", said)
	}
}

// TestOwnWorkTakesWhatIsQuickFirst: whoever does all work is told pitch, rod, saddle, nut, frets, and last what takes most; a
// repairer's neck is theirs to rework.
func TestOwnWorkTakesWhatIsQuickFirst(t *testing.T) {
	order := func(s *Spec, r *Readings) (order string, d Disposition, said string) {
		res := mustEvaluate(t, s, r, Options{})
		var steps []string
		for _, a := range res.Advice {
			steps = append(steps, a.What)
		}
		return strings.Join(steps, ", "), res.Disposition, saidOf(s, res)
	}
	s, r := overBowed(t)
	r.Action[0].HeightMM, r.NutHeight[2].HeightMM = 2.6, 0.8
	if got, _, _ := order(s, r); got != "truss rod, nut slots, action" {
		t.Errorf("handed on: %s", got)
	}
	if got, d, _ := order(withOwnWork(s), r); got != "truss rod, action, nut slots" || d != Rework {
		t.Errorf("by oneself: %s, %s", got, d)
	}
	// A twist beside it: heat or the plane come last, and nobody else is asked for.
	for i := range s.Limits {
		if l := &s.Limits[i]; l.Characteristic == Twist {
			l.LowerDeg, l.UpperDeg = number(5), number(6)
		}
	}
	if got, d, said := order(s, r); !strings.HasPrefix(got, "repairer, ") || d != Repair || !strings.Contains(said, "repairer") {
		t.Errorf("handed on: %s, %s", got, d)
	}
	if got, d, said := order(withOwnWork(s), r); !strings.HasSuffix(got, ", nut slots, repairer") || d != Rework || strings.Contains(said, "repairer") || !strings.Contains(said, "heat press") {
		t.Errorf("by oneself: %s, %s: %s", got, d, said)
	}
}
