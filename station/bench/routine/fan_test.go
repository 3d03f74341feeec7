package routine

import (
	"slices"
	"testing"
	"time"

	"sagitta/batch/files"
	"sagitta/batch/instrument"
	"sagitta/inspect"
)

// TestCarriedTwist: a rod's turn leaves three crowns of a track to measure. On a neck with one scale they tell the twist anew; on a multi-scale neck twist
// needs the bend curve besides, which three crowns do not give, and is carried over.
func TestCarriedTwist(t *testing.T) {
	for name, carried := range map[string]bool{"electric-bolt-on": false, "electric-multi-scale-eight": true} {
		i := slices.IndexFunc(instrument.Templates(), func(one instrument.Template) bool { return one.Name == name })
		s, err := files.ReadSpec(name, []byte(instrument.Templates()[i].Text))
		if err != nil {
			t.Fatal(err)
		}
		s.Limits = slices.DeleteFunc(s.Limits, func(l inspect.Limit) bool {
			return l.Characteristic == inspect.ClearanceMargin || l.Characteristic == inspect.LeastClearance
		})
		a := Attempt{Spec: s.WithDefaults()}
		all := Points(a.Spec, gauges)
		if !slices.ContainsFunc(s.Limits, func(l inspect.Limit) bool { return l.Characteristic == inspect.Twist }) {
			t.Fatalf("%s limits no twist", name)
		}
		none := &inspect.Readings{PitchDeclared: true}
		was, err := inspect.Evaluate(a.Spec, none, inspect.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for j := range was.Characteristics { // as if everything had conformed
			was.Characteristics[j].Value, was.Characteristics[j].Zone = new(0.0), inspect.Conforming
		}
		a.Carry(all, inspect.Carry(a.Spec, was, inspect.CarriedFrom{Attempt: 1, At: time.Now()}, []inspect.Work{{What: inspect.StepRod}}))
		if len(a.Carried) == 0 || len(a.Routine) == len(all) {
			t.Fatalf("%s: %d of %d points are asked for", name, len(a.Routine), len(all))
		}
		if got := slices.ContainsFunc(a.Carried, func(c inspect.Characteristic) bool { return c.Name == inspect.Twist }); got != carried {
			t.Errorf("%s: twist is carried: %t, want %t", name, got, carried)
		}
		res, err := inspect.Evaluate(a.Spec, none, inspect.Options{Carried: a.Carried})
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range res.Characteristics {
			if carried && c.Name == inspect.Twist && c.Zone != inspect.Conforming {
				t.Errorf("%s: the carried twist is %s", name, c.Zone)
			}
		}
	}
}
