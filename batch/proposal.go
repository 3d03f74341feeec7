package batch

import (
	"fmt"
	"math"

	"sagitta/inspect/unit"
)

// Proposal is what is proposed of a gauge's uncertainty while nothing is known of it but its kind and its resolution: standard
// uncertainties, mm, and where they come from.
type Proposal struct {
	CalibrationU, RepeatabilityU float64
	Source                       string
}

// errorLimits are the errors, mm of either sign, that gauges of a kind are usually within over their range, fine and coarse ones: with
// steps under 0.005 mm, and from there up. Digital indicators of 0.001 mm are within 0.003 to 0.006 mm, of 0.01 mm within 0.02 mm (makers'
// data sheets in general; common practice); calipers within 0.03 mm (common practice, no source).
var errorLimits = map[GaugeKind]struct{ fine, coarse float64 }{
	IndicatorGauge: {0.006, 0.02}, HeightGauge: {0.006, 0.02}, BeamGauge: {0.006, 0.02}, CaliperGauge: {0.03, 0.03},
}

// handling is how much readings of one place differ with the hand that sets the gauge there, one standard deviation, mm (common practice,
// no source): a study of the gauge tells it.
var handling = map[GaugeKind]float64{IndicatorGauge: 0.002, HeightGauge: 0.005, BeamGauge: 0.004, CaliperGauge: 0.01}

// Propose gives what is proposed for a kind and a resolution, mm. The error is taken as uniform within its limits, so that its standard
// uncertainty is the limit over the root of 3 (JCGM 100:2008, 4.3.7), and never less than two steps; what a person reads by eye is as Ordinary has it. ok is false
// where verdicts rest on no length that the gauge reads, or its steps are not known.
func Propose(k GaugeKind, resolutionMM float64) (p Proposal, ok bool) {
	if k == RulerGauge || k == BeamByEyeGauge { // as they are commonly found
		g := Ordinary(k, unit.Millimetre)
		return Proposal{g.CalibrationU, g.RepeatabilityU, g.UReason}, true
	}
	limits, known := errorLimits[k]
	if !known || !(resolutionMM > 0) {
		return p, false
	}
	limit := limits.coarse
	if resolutionMM < 0.005 {
		limit = limits.fine
	}
	limit = max(limit, 2*resolutionMM)
	p = Proposal{CalibrationU: to4(limit / math.Sqrt(3)), RepeatabilityU: max(handling[k], to4(resolutionMM/math.Sqrt(3)))}
	p.Source = fmt.Sprintf("proposed from kind and resolution: error up to %g mm either way (common practice), taken as uniform (JCGM 100, 4.3.7); by hand %g mm (common practice)", limit, p.RepeatabilityU)
	return p, true
}

// to4 rounds to 0.0001 mm.
func to4(mm float64) float64 { return math.Round(mm*1e4) / 1e4 }

// Proposed says that the gauge's uncertainty is what was proposed for it, and nothing else is known.
func (g *Gauge) Proposed() bool {
	p, ok := Propose(g.Kind, g.ResolutionMM)
	return ok && g.CalibrationU == p.CalibrationU && g.RepeatabilityU == p.RepeatabilityU && g.ReferenceU == 0 && g.Certificate == ""
}
