package inspect

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"sagitta/inspect/unit"
)

// TestWoundMass: the textbook's E2 string (H. D. Young and R. A. Freedman, University Physics, 14th ed., problem 15.74: 78.0 N at
// 25.5 in, 6.846 g/m) is a .046 in string in the usual set; the estimate from that diameter holds it within its uncertainty.
func TestWoundMass(t *testing.T) {
	mass, u := WoundMass(0.046 * 25.4)
	t.Logf("a .046 in string: %.3f g/m, standard uncertainty %.3f; the textbook's 6.846", mass, u)
	if math.Abs(mass-6.846) > 2*u || u > 0.06*mass || u <= 0 {
		t.Errorf("%.3f ± %.3f g/m", mass, u)
	}
	// The widest cores and densities of the estimate's own derivation lie within two and a half standard uncertainties.
	for _, core := range []float64{0.35, 0.55} {
		for _, wire := range []float64{7850, 8800} {
			// The wrap of a round wire w = (1 - c)/2 about a core c, one turn a wire's width: pi^2/4 (c + w) w of area.
			w := (1 - core) / 2
			worked := (math.Pi/4*core*core*steelDensity + math.Pi*math.Pi/4*(core+w)*w*wire) / 1000
			if got, u := WoundMass(1); math.Abs(got-worked) > 2.5*u {
				t.Errorf("core %v, wire %v: worked out %.3f, estimated %.3f ± %.3f", core, wire, worked, got, u)
			}
		}
	}
}

// TestEstimatedMassMakesMarginUncertain: a string whose mass is estimated makes the clearance when plucked uncertain as sampled
// masses do; one whose mass is given does not.
func TestEstimatedMassMakesMarginUncertain(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	key := rowKey{name: ClearanceMargin, string: 6}
	given := *row(t, mustEvaluate(t, s, r, Options{}), key).U
	s.Strings = append([]String{}, s.Strings...)
	six := s.FindString(6)
	six.MassGPerM, six.PlainString = nil, false
	s.Pluck = &Pluck{ForceN: 3, DistanceMM: 130} // so hard that the envelope is what counts
	res := mustEvaluate(t, s, r, Options{})
	estimated := *row(t, res, key).U
	parts, budgeted, err := Budget(s, r, *row(t, res, key))
	if err != nil || math.Abs(budgeted-estimated) > 0.02*estimated || parts[0].Point != (PointRef{Kind: PointMass, String: 6}) {
		t.Errorf("the budget: %v (%v), largest part %+v; evaluated %v", budgeted, err, parts[0], estimated)
	}

	random := rand.New(rand.NewPCG(5, 11))
	mass, u := six.Mass()
	var sum, squares float64
	const draws = 400
	for range draws {
		drawn := mass + u*random.NormFloat64()
		six.MassGPerM = &drawn
		v := *row(t, mustEvaluate(t, s, r, Options{SkipUncertainty: true}), key).Value
		sum, squares = sum+v, squares+v*v
	}
	sampled := math.Sqrt(squares/draws - sum/draws*sum/draws)
	six.MassGPerM = &mass
	known := *row(t, mustEvaluate(t, s, r, Options{}), key).U
	want := math.Hypot(known, sampled)
	t.Logf("u of the margin: %.4f with the mass known, %.4f estimated, %.4f sampled; %.4f with a light pluck", known, estimated, want, given)
	if !(estimated > 1.5*known) || math.Abs(estimated-want) > 0.1*want {
		t.Errorf("known %v, estimated %v, sampled %v", known, estimated, want)
	}
}

// TestScaleInInches: a scale in inches gives every value that the same scale in mm gives.
func TestScaleInInches(t *testing.T) {
	s, r := readNeck(t, "W1-good-neck")
	inches := 25.5
	s.Neck.ScaleMM = inches * unit.MMPerInch
	want := mustEvaluate(t, s, r, Options{})
	s.Neck.ScaleMM, s.Neck.ScaleIN = 0, inches
	got := mustEvaluate(t, s, r, Options{})
	if !reflect.DeepEqual(got, want) || s.Neck.MultiScale() {
		t.Error("a value in inches is another in mm")
	}
}

// TestUsualOfKind: each kind of instrument has its own relief where one limit says no target, and a stiff bass neck its own rod;
// without a kind, and with two limits, nothing changes.
func TestUsualOfKind(t *testing.T) {
	for _, c := range []struct {
		kind     string
		relief   float64
		perTurn  float64
		material string
	}{
		{"", 0.30, 0.5, Steel}, {Electric, 0.30, 0.5, Steel}, {SteelAcoustic, 0.18, 0.5, Steel}, {Classical, 0.17, 0.5, Nylon}, {BassGuitar, 0.33, 0.26, Steel},
	} {
		s, r := bowed(t, "single", 0.62, 0.62, 0.62)
		s.Neck.Kind = c.kind
		for i := range s.Strings {
			mass, _ := s.Strings[i].Mass()
			s.Strings[i].MassGPerM = &mass
		}
		if got := s.MaterialOf(&s.Strings[0]); got != c.material {
			t.Errorf("%s: strings of %s", c.kind, got)
		}
		s.Limits = []Limit{{Characteristic: Relief, Track: each, UpperMM: number(0.5)}}
		a := mustEvaluate(t, s, r, Options{}).Advice[0]
		// The quarter turn that is advised takes off a quarter of what a turn does.
		if a.What != StepRod || *a.Turns != 0.25 || math.Abs(*a.PredictedReliefMM-(0.62-c.perTurn/4)) > 1e-9 {
			t.Errorf("%s: %+v", c.kind, a)
		}
		if got := s.UsualReliefMM(); got != c.relief {
			t.Errorf("%s: relief %v", c.kind, got)
		}
		model := LearnRod(s, nil)
		if mean, sd := model.NewNeck(); math.Abs(mean-c.perTurn) > 1e-12 || !(sd > 0.05) || model.Pairs != 0 {
			t.Errorf("%s: a rod of %v ± %v", c.kind, mean, sd)
		}
		// Close to its target there is a sixteenth or nothing to turn: what it is worked towards is the kind's own.
		s, r = bowed(t, "single", c.relief+0.2, c.relief+0.2, c.relief+0.2)
		s.Neck.Kind = c.kind
		for i := range s.Strings {
			mass, _ := s.Strings[i].Mass()
			s.Strings[i].MassGPerM = &mass
		}
		s.Limits = []Limit{{Characteristic: Relief, Track: each, UpperMM: number(c.relief + 0.1)}}
		known := RodModel{MeanMM: 0.8, SDMM: 0.01, ActionRatioMean: 0.8, ActionRatioSD: 0.1}
		if a := mustEvaluate(t, s, r, Options{Rod: known}).Advice[0]; math.Abs(*a.PredictedReliefMM-c.relief) > 1e-9 {
			t.Errorf("%s: worked towards %v", c.kind, *a.PredictedReliefMM)
		}
		s.Limits = []Limit{{Characteristic: Relief, Track: each, LowerMM: number(c.relief - 0.1), UpperMM: number(c.relief + 0.1)}}
		if a := mustEvaluate(t, s, r, Options{Rod: known}).Advice[0]; math.Abs(*a.PredictedReliefMM-c.relief) > 1e-9 {
			t.Errorf("%s: the middle of the limits is %v, worked towards %v", c.kind, c.relief, *a.PredictedReliefMM)
		}
	}
}
