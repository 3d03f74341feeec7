package batch

import (
	"math"
	"strings"
	"testing"
)

// TestPropose: what is proposed is the limit over the root of 3 with the hand's part, tells its source, and U is never nearly nothing.
func TestPropose(t *testing.T) {
	for _, c := range []struct {
		kind                      GaugeKind
		resolution                float64
		calibration, repeatabilty float64
		ok                        bool
	}{
		{IndicatorGauge, 0.001, 0.0035, 0.002, true}, // 0.006/sqrt(3) = 0.00346
		{HeightGauge, 0.01, 0.0115, 0.0058, true},    // 0.02/sqrt(3) = 0.01155, 0.01/sqrt(3) = 0.00577
		{BeamGauge, 0.00254, 0.0035, 0.004, true},    // .0001 in
		{CaliperGauge, 0.01, 0.0173, 0.01, true},
		{RulerGauge, 0, RulerU, 0, true},
		{HeightGauge, 0.1, 0.1155, 0.0577, true}, // two steps
		{HeightGauge, 0, 0, 0, false},
		{TunerGauge, 0.01, 0, 0, false},
		{LeavesGauge, 0.01, 0, 0, false},
	} {
		p, ok := Propose(c.kind, c.resolution)
		if ok != c.ok || math.Abs(p.CalibrationU-c.calibration) > 6e-5 || math.Abs(p.RepeatabilityU-c.repeatabilty) > 6e-5 || ok != strings.Contains(p.Source, "common practice") {
			t.Errorf("%s with steps of %g mm: %+v, %v", c.kind, c.resolution, p, ok)
		}
		g := Gauge{Kind: c.kind, ResolutionMM: c.resolution, Measures: c.kind.Usual(), CalibrationU: p.CalibrationU, RepeatabilityU: p.RepeatabilityU}
		if g.Proposed() != ok || ok && g.U() < 0.004 || g.OnlyDigits() == ok && ok {
			t.Errorf("%s: U %g, proposed %v", c.kind, g.U(), g.Proposed())
		}
	}
}
