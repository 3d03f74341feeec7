package batch

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Correct turns a gauge's indicated value r (mm) at x (mm from the nut) into a height (mm):
//
//	z = sense (r - error(r)) - ref(x) - zero
//
// error(r) is the calibration's indicated minus true value and ref(x) the flat reference's own form. Both tables are
// linear between their points and held at their end values beyond them; without points they are 0. zeroMM is what the
// same chain gave on the flat reference at the last check. A sense of 0 counts as +1.
func (g *Gauge) Correct(readingMM, xMM, zeroMM float64) float64 {
	sense := 1.0
	if g.Sense < 0 {
		sense = -1
	}
	errorOf := interpolate(len(g.Calibration), readingMM, func(i int) (float64, float64) {
		return g.Calibration[i].IndicatedMM, g.Calibration[i].ErrorMM
	})
	form := interpolate(len(g.Reference), xMM, func(i int) (float64, float64) {
		return g.Reference[i].XMM, g.Reference[i].ReadingMM
	})
	return sense*(readingMM-errorOf) - form - zeroMM
}

// interpolate reads a table of n points with rising arguments at v, held constant beyond its ends.
func interpolate(n int, v float64, at func(int) (x, y float64)) float64 {
	if n == 0 {
		return 0
	}
	x0, y0 := at(0)
	if v <= x0 {
		return y0
	}
	for i := 1; i < n; i++ {
		x1, y1 := at(i)
		if v <= x1 {
			return y0 + (y1-y0)*(v-x0)/(x1-x0)
		}
		x0, y0 = x1, y1
	}
	return y0
}

// URepeat is the part of one reading's standard uncertainty that differs from reading to reading, mm:
// sqrt(res²/12 + u_rep²). Averaging n readings divides it by sqrt(n) (JCGM 100, 4.2.3).
func (g *Gauge) URepeat() float64 {
	return math.Hypot(g.ResolutionMM/math.Sqrt(12), g.RepeatabilityU)
}

// U is one reading's standard uncertainty, mm: sqrt(res²/12 + u_cal² + u_rep² + u_ref²) (JCGM 100, 5.1.2). It is 0, and
// the specification's figures apply, where the gauge brings none of the parts.
func (g *Gauge) U() float64 {
	return math.Hypot(g.URepeat(), math.Hypot(g.CalibrationU, g.ReferenceU))
}

// OnlyDigits says that lengths that verdicts rest on are read with the gauge and that its U is that of its last digit alone:
// nothing is on file of its calibration, its repeatability or its reference.
func (g *Gauge) OnlyDigits() bool {
	lengths := slices.ContainsFunc([]Kind{Crown, ActionHeight, NutHeight, BeamReading}, g.Serves)
	return lengths && g.ResolutionMM > 0 && g.CalibrationU == 0 && g.RepeatabilityU == 0 && g.ReferenceU == 0
}

// Check lists what is wrong with a gauge's entry; nil when it may be used.
func (g *Gauge) Check() []FileError {
	var faults []FileError
	bad := func(field, allowed string, found any) {
		faults = append(faults, FileError{Field: field, Found: fmt.Sprint(found), Allowed: allowed})
	}
	if strings.TrimSpace(g.Name) == "" {
		bad("name", "a name", `""`)
	}
	kinds := []Kind{Crown, ActionHeight, NutHeight, Pitch, PitchDeclared, BeamReading, LeafPasses, LeafStops, Position}
	for _, k := range g.Measures {
		if !slices.Contains(kinds, k) {
			bad("measures", fmt.Sprintf("one of %q", kinds), fmt.Sprintf("%q", k))
		}
	}
	if g.Sense != 1 && g.Sense != -1 {
		bad("sense", "1 (grows when the surface is higher) or -1", g.Sense)
	}
	g.checkKind(bad)
	g.checkCapture(bad)
	if !slices.Contains(ZeroLosses, g.LosesZero) {
		bad("what takes the zero", fmt.Sprintf("one of %q", ZeroLosses), fmt.Sprintf("%q", g.LosesZero))
	}
	if strings.ContainsFunc(g.Prefix, func(r rune) bool { return r <= ' ' || r > '~' }) {
		bad("prefix", "characters that a keyboard types, without blanks", fmt.Sprintf("%q", g.Prefix))
	}
	g.checkNumbers(bad)
	faults = append(faults, rising("calibration", len(g.Calibration), func(i int) (float64, float64) {
		return g.Calibration[i].IndicatedMM, g.Calibration[i].ErrorMM
	})...)
	faults = append(faults, rising("reference", len(g.Reference), func(i int) (float64, float64) {
		return g.Reference[i].XMM, g.Reference[i].ReadingMM
	})...)
	if feet := g.FeetMM; feet != [2]float64{} && !(cmp.Less(feet[0], g.PlungerMM) && cmp.Less(g.PlungerMM, feet[1])) {
		bad("plunger", fmt.Sprintf("between the feet, %g and %g mm", feet[0], feet[1]), g.PlungerMM)
	}
	return faults
}

// checkCapture says what is wrong with how the gauge's readings are taken.
func (g *Gauge) checkCapture(bad func(field, allowed string, found any)) {
	if g.Capture != "" && !slices.Contains(Captures, g.Capture) {
		bad("capture", fmt.Sprintf("one of %q", Captures), fmt.Sprintf("%q", g.Capture))
	}
	if g.OnlySwitch() && (g.FootSwitch == "" || len(g.Measures) > 0) {
		bad("capture", fmt.Sprintf("a foot switch measures nothing and is wired to one of %q", FootSwitches), fmt.Sprintf("%q, measuring %q", g.FootSwitch, g.Measures))
	}
	if g.OnlyLamp() && (g.FootSwitch != "" || len(g.Measures) > 0) {
		bad("capture", "a lamp has its port for itself and measures nothing", fmt.Sprintf("foot switch %q, measuring %q", g.FootSwitch, g.Measures))
	}
	if g.Capture == "settled" && g.ResolutionMM == 0 {
		bad("resolution", "more than 0 where readings are taken at rest: rest is judged by it", g.ResolutionMM)
	}
	if g.FootSwitch != "" && (g.Capture == "typed" || !slices.Contains(FootSwitches, g.FootSwitch)) {
		bad("foot switch", fmt.Sprintf("one of %q; none at a gauge that types, which has no port", FootSwitches), fmt.Sprintf("%q", g.FootSwitch))
	}
}

// checkNumbers says which of the gauge's figures, and of its masters', cannot be.
func (g *Gauge) checkNumbers(bad func(field, allowed string, found any)) {
	for _, n := range []struct {
		field string
		value float64
	}{
		{"resolution", g.ResolutionMM}, {"travel", g.TravelMM}, {"calibration uncertainty", g.CalibrationU},
		{"repeatability", g.RepeatabilityU}, {"reference uncertainty", g.ReferenceU}, {"zero limit", g.ZeroLimitMM},
		{"check interval", g.CheckHours},
	} {
		if !(n.value >= 0) || math.IsInf(n.value, 1) {
			bad(n.field, "a finite number of 0 or more", n.value)
		}
	}
	for i, m := range g.Masters {
		if !(m.NominalMM > 0) || math.IsInf(m.NominalMM, 0) {
			bad(fmt.Sprintf("master[%d]", i+1), "a finite length of more than 0 mm", m.NominalMM)
		}
		if !(m.LimitMM > 0) || math.IsInf(m.LimitMM, 0) {
			bad(fmt.Sprintf("master[%d] limit", i+1), "a finite number of more than 0", m.LimitMM)
		}
	}
}

// rising checks that a correction table is finite and that its arguments rise strictly.
func rising(field string, n int, at func(int) (x, y float64)) []FileError {
	var faults []FileError
	last := math.Inf(-1)
	for i := range n {
		x, y := at(i)
		name := fmt.Sprintf("%s[%d]", field, i+1)
		switch {
		case math.IsNaN(x) || math.IsInf(x, 0) || math.IsNaN(y) || math.IsInf(y, 0):
			faults = append(faults, FileError{Field: name, Found: fmt.Sprintf("%g, %g", x, y), Allowed: "finite numbers"})
		case x <= last:
			faults = append(faults, FileError{Field: name, Found: fmt.Sprint(x), Allowed: fmt.Sprintf("more than the point before it, %g mm", last)})
		}
		last = x
	}
	return faults
}
