package batch

import (
	"math"
	"testing"
)

// z = sense (r - error(r)) - ref(x) - zero (definition), worked out by hand.
func TestCorrect(t *testing.T) {
	g := Gauge{Sense: -1,
		Calibration: []CalibrationPoint{{0, 0.001}, {2, 0.005}, {4, -0.003}},
		Reference:   []ReferencePoint{{100, 0.010}, {500, 0.030}},
	}
	for _, c := range []struct{ r, x, zero, want float64 }{
		{1, 300, 0, -(1 - 0.003) - 0.020},         // both tables between their points
		{3, 300, 0.2, -(3 - 0.001) - 0.020 - 0.2}, // second stretch, a zero
		{2, 100, 0, -(2 - 0.005) - 0.010},         // on the points
		{-1, 0, 0, -(-1 - 0.001) - 0.010},         // below both ends: held
		{9, 600, 0, -(9 + 0.003) - 0.030},         // above both ends: held
	} {
		if got := g.Correct(c.r, c.x, c.zero); math.Abs(got-c.want) > 1e-15 {
			t.Errorf("Correct(%g, %g, %g) = %.17g, want %.17g", c.r, c.x, c.zero, got, c.want)
		}
	}
	plain := Gauge{}
	if got := plain.Correct(0.25, 100, 0.05); got != 0.2 {
		t.Errorf("without tables: %g, want 0.2", got)
	}
}

// The zero that a check finds, taken with the same chain, makes the flat reference read zero at its place.
func TestCorrectReadsZeroOnTheFlat(t *testing.T) {
	for _, sense := range []int{-1, 1} {
		g := Gauge{Sense: sense, Calibration: []CalibrationPoint{{0, 0.001}, {2, 0.005}}, Reference: []ReferencePoint{{0, 0.02}, {500, 0.03}}}
		zero := g.Correct(1.234, 0, 0)
		if got := g.Correct(1.234, 0, zero); got != 0 {
			t.Errorf("sense %d: %g", sense, got)
		}
		if higher := g.Correct(1.244, 0, zero); math.Signbit(higher) == (sense > 0) {
			t.Errorf("sense %d: a larger reading became %g", sense, higher)
		}
	}
}

// Figures: testdata/reference/geometry/beam_and_uncertainty.json, "u_z_mm", for 0.01, 0.002, 0.003 and 0.002 mm
// (JCGM 100, 5.1.2, a rectangular resolution: 4.3.7).
func TestGaugeUncertainty(t *testing.T) {
	g := Gauge{ResolutionMM: 0.01, CalibrationU: 0.002, RepeatabilityU: 0.003, ReferenceU: 0.002}
	if got, want := g.U(), 0.005033222956847166; math.Abs(got-want) > 1e-15 {
		t.Errorf("U = %.17g, want %.17g", got, want)
	}
	if got, want := g.URepeat(), math.Sqrt(0.0001/12+9e-6); math.Abs(got-want) > 1e-15 {
		t.Errorf("URepeat = %.17g, want %.17g", got, want)
	}
	if got := (&Gauge{}).U(); got != 0 {
		t.Errorf("U of a gauge that brings none = %g", got)
	}
}

func TestGaugeCheck(t *testing.T) {
	good := Gauge{Name: "carriage", Measures: []Kind{Crown}, Sense: -1, Capture: "key", FeetMM: [2]float64{1, 3}, PlungerMM: 2,
		Calibration: []CalibrationPoint{{0, 0}, {1, 0.1}}}
	if faults := good.Check(); faults != nil {
		t.Errorf("a good entry: %v", faults)
	}
	for field, spoil := range map[string]func(*Gauge){
		"name":           func(g *Gauge) { g.Name = " " },
		"measures":       func(g *Gauge) { g.Measures = []Kind{"weight"} },
		"sense":          func(g *Gauge) { g.Sense = 2 },
		"capture":        func(g *Gauge) { g.Capture = "always" },
		"resolution":     func(g *Gauge) { g.ResolutionMM = math.NaN() },
		"repeatability":  func(g *Gauge) { g.RepeatabilityU = math.Inf(1) },
		"master[1]":      func(g *Gauge) { g.Masters = []Master{{NominalMM: math.Inf(1), LimitMM: 0.01}} },
		"calibration[2]": func(g *Gauge) { g.Calibration = []CalibrationPoint{{1, 0}, {1, 0.1}} },
		"reference[1]":   func(g *Gauge) { g.Reference = []ReferencePoint{{math.NaN(), 0}} },
		"plunger":        func(g *Gauge) { g.PlungerMM = 3 },
	} {
		g := good
		spoil(&g)
		if faults := g.Check(); len(faults) != 1 || faults[0].Field != field {
			t.Errorf("%s spoilt: %v", field, faults)
		}
	}
}
