package inspect

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// overBowed is a worked neck with too much relief.
func overBowed(t *testing.T) (*Spec, *Readings) { return readNeck(t, "W2-too-much-relief") }

// TestRodStops: each reason not to turn the rod turns the advice over to the repairer and says why (definition).
func TestRodStops(t *testing.T) {
	step := func(turns, before, after float64) RodStep {
		return RodStep{Turns: turns, Direction: "tighten", ReliefBeforeMM: before, ReliefAfterMM: after, UMM: number(0.009)}
	}
	for _, c := range []struct {
		name, why string
		prepare   func(*Spec, *Readings)
	}{
		{"no rod", "no truss rod", func(s *Spec, _ *Readings) { s.Neck.Rod = "none" }},
		{"too little travel", "has about 0.20 left", func(s *Spec, _ *Readings) { s.Neck.RodTurnsLeft = number(0.2) }},
		{"travel used up", "has about 0.10 left", func(s *Spec, r *Readings) {
			s.Neck.RodTurnsLeft = number(0.35)
			r.RodSteps = []RodStep{step(0.25, 0.58, 0.46)}
		}},
		{"travel used up together with other work", "has about 0.10 left", func(s *Spec, r *Readings) {
			s.Neck.RodTurnsLeft = number(0.6)
			r.RodTurned = number(0.5)
			r.RodSteps = []RodStep{step(0.25, 0.58, 0.46)} // one of its two quarters
		}},
		{"two poor steps", "no effect twice", func(_ *Spec, r *Readings) {
			r.RodSteps = []RodStep{step(0.25, 0.50, 0.48), step(0.25, 0.48, 0.46)}
		}},
		{"slack and back-bowed", "already slack", func(s *Spec, r *Readings) {
			r.RodSlack = true
			*r = *change(s, r, func(x, _, z float64) float64 {
				return z - 6e-5*(FretX(s.Neck.ScaleMM, 14)-x)*(FretX(s.Neck.ScaleMM, 14)-x)/2
			})
		}},
		{"S-shaped", "bent into an S", func(s *Spec, r *Readings) {
			*r = *change(s, r, func(x, _, z float64) float64 {
				u := x / FretX(s.Neck.ScaleMM, 14)
				return z - 1.2*u*u*(3-2*u)*0.9 + 3*(u-0.5)*(u-0.5)*(u-0.5)
			})
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, r := overBowed(t)
			c.prepare(s, r)
			res := mustEvaluate(t, s, r, Options{})
			if res.Disposition != Repair || len(res.Advice) == 0 || res.Advice[0].What != "repairer" || !strings.Contains(res.Advice[0].Why, c.why) {
				t.Errorf("%s: %+v", res.Disposition, res.Advice)
			}
			if defects := map[string]string{"two poor steps": "rod stuck", "S-shaped": "S-curve"}; defects[c.name] != "" {
				if got := Remedies(s, res); !slices.ContainsFunc(got, func(r Remedy) bool { return r.Defect == defects[c.name] }) {
					t.Errorf("remedies: %+v", got)
				}
			}
			for _, a := range res.Advice {
				if a.What == "truss rod" {
					t.Error("the rod is still to be turned")
				}
			}
			ownInstead(t, s, r, c.why)
		})
	}
	s, r := overBowed(t)
	s.Neck.RodTurnsLeft = nil
	r.RodSteps = []RodStep{step(0.25, 0.50, 0.48)} // one step without effect teaches nothing, and does not stop
	res := mustEvaluate(t, s, r, Options{})
	if res.Disposition != Rework || res.Advice[0].What != StepMeasure || res.Advice[1].What != "truss rod" {
		t.Errorf("one poor step: %s %+v", res.Disposition, res.Advice)
	}
}

// TestTurnsOfNothing: sides that differ while their mean is on target get no turn, and are told why.
func TestTurnsOfNothing(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	s.Limits[0].LowerMM, s.Limits[0].TargetMM, s.Limits[0].UpperMM = number(0.288), number(0.292), number(0.296)
	res := mustEvaluate(t, s, r, Options{})
	a := res.Advice[0]
	if a.What != "truss rod" || *a.Turns != 0 || a.Direction != "" || !strings.Contains(a.Why, "cannot even them out") {
		t.Errorf("%+v", a)
	}
}

// TestMeanRelief: over the limited tracks, over all of them where none is limited (definition).
func TestMeanRelief(t *testing.T) {
	of := func(v, u float64, zone Zone) Characteristic {
		return Characteristic{Name: Relief, Value: &v, U: &u, Zone: zone}
	}
	for _, c := range []struct {
		values  []Characteristic
		want, u float64
	}{
		{[]Characteristic{of(0.2, 0.003, Conforming), of(0.4, 0.004, Nonconforming), of(9, 1, NoLimit)}, 0.3, 0.0025},
		{[]Characteristic{of(0.2, 0.003, NoLimit), of(0.3, 0.004, NoLimit)}, 0.25, 0.0025},
	} {
		got, u := MeanRelief(&Result{Characteristics: c.values})
		if got == nil || math.Abs(*got-c.want) > 1e-12 || math.Abs(u-c.u) > 1e-12 {
			t.Errorf("mean relief %v (u %v), want %v (%v)", got, u, c.want, c.u)
		}
	}
	if got, _ := MeanRelief(&Result{}); got != nil {
		t.Errorf("mean of nothing is %v", *got)
	}
}
