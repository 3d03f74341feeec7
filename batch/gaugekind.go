package batch

import (
	"fmt"
	"math"
	"slices"

	"sagitta/inspect/unit"
)

// GaugeKind is what a gauge is. It decides which fields its entry has, how it is checked, and whether it has a line.
type GaugeKind string

// The kinds of gauge.
const (
	IndicatorGauge  GaugeKind = "indicator" // on a carriage along the neck
	HeightGauge     GaugeKind = "height gauge"
	BeamGauge       GaugeKind = "beam" // on two feet, its indicator between them
	CaliperGauge    GaugeKind = "caliper"
	EncoderGauge    GaugeKind = "position encoder"
	TunerGauge      GaugeKind = "tuner"
	LeavesGauge     GaugeKind = "leaves" // a set of feeler leaves
	RulerGauge      GaugeKind = "ruler"
	BeamByEyeGauge  GaugeKind = "beam by eye" // on two feet, its dial read by eye
	FootSwitchGauge GaugeKind = "foot switch" // on a port of its own
	LampGauge       GaugeKind = "lamp"        // on a port of its own
)

// GaugeKinds are all of them.
var GaugeKinds = []GaugeKind{
	IndicatorGauge, HeightGauge, BeamGauge, CaliperGauge, EncoderGauge, TunerGauge, LeavesGauge, RulerGauge, BeamByEyeGauge, FootSwitchGauge, LampGauge,
}

// Usual are the points that a gauge of the kind usually measures.
func (k GaugeKind) Usual() []Kind {
	switch k {
	case IndicatorGauge:
		return []Kind{Crown}
	case HeightGauge, CaliperGauge, RulerGauge:
		return []Kind{ActionHeight, NutHeight}
	case BeamGauge, BeamByEyeGauge:
		return []Kind{BeamReading}
	case EncoderGauge:
		return []Kind{Position}
	case TunerGauge:
		return []Kind{Pitch}
	case LeavesGauge:
		return []Kind{LeafPasses, LeafStops}
	}
	return nil
}

// ByEye says that the gauge has no line: a person reads it and enters what it says.
func (g *Gauge) ByEye() bool {
	return g.Kind == LeavesGauge || g.Kind == RulerGauge || g.Kind == BeamByEyeGauge
}

// OnTwoFeet says that the gauge is a beam, whose readings depend on the places of its feet.
func (g *Gauge) OnTwoFeet() bool { return g.Kind == BeamGauge || g.Kind == BeamByEyeGauge }

// FeetKnown says whether the places of the beam's feet and of what it reads between them are on file.
func (g *Gauge) FeetKnown() bool { return g.FeetMM != [2]float64{} }

// NameKind gives an entry without a kind the one that it is, by how its readings come and what it measures: entries had none once.
func (g *Gauge) NameKind() {
	if g.Kind == "" {
		g.Kind = kindOf(g)
	}
}

func kindOf(g *Gauge) GaugeKind {
	measures := func(kinds ...Kind) bool {
		return slices.ContainsFunc(g.Measures, func(k Kind) bool { return slices.Contains(kinds, k) })
	}
	switch {
	case g.OnlySwitch():
		return FootSwitchGauge
	case g.OnlyLamp():
		return LampGauge
	case g.OnlyPlaces():
		return EncoderGauge
	case measures(BeamReading):
		return BeamGauge
	case measures(Crown):
		return IndicatorGauge
	case measures(ActionHeight, NutHeight):
		return HeightGauge
	case measures(Pitch):
		return TunerGauge
	}
	return CaliperGauge
}

// The ordinary sets of feeler leaves: by hundredths to 0.10 mm and by twentieths to 1 mm; whole thousandths of an inch to 0.025 in with
// 0.0015 and 0.0025 in. Common practice, no source.
var (
	LeavesMetric = leafSet(unit.Millimetre, 0.04, 0.05, 0.06, 0.07, 0.08, 0.09, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60, 0.70, 0.80, 0.90, 1.00)
	LeavesInch   = leafSet(unit.Thousandth, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 22, 24, 25)
)

func leafSet(in unit.Unit, thicknesses ...float64) []float64 {
	set := make([]float64, len(thicknesses))
	for i, t := range thicknesses {
		set[i] = math.Round(in.To(t)*1e6) / 1e6 // 1.5 thou are 0.0381 mm, to the last digit
	}
	return set
}

// StackU is the standard uncertainty of the thickness of two leaves together, mm: each differs by up to 0.005 mm from what is written on
// it, and air stays between them. Of a single leaf the step to its neighbour is taken to hold all. Common practice, no source.
const StackU = 0.005

// Ordinary is the entry of a gauge without a line as it is commonly found: an ordinary set of leaves in the unit of length that the shop
// works in, a ruler judged to 0.1 mm, a beam whose dial has hundredths and whose feet are asked for at the bench.
func Ordinary(k GaugeKind, in unit.Unit) Gauge {
	g := Gauge{Kind: k, Measures: k.Usual(), Sense: 1}
	switch k {
	case LeavesGauge:
		g.Name, g.LeavesMM = "feeler leaves", LeavesMetric
		if in != unit.Millimetre {
			g.LeavesMM = LeavesInch
		}
	case RulerGauge:
		g.Name, g.CalibrationU, g.UReason = "ruler", RulerU, "a ruler is judged to 0.1 mm (common practice)"
	case BeamByEyeGauge:
		g.Name, g.ResolutionMM, g.ZeroLimitMM, g.EachShift = "beam on two feet", 0.01, 0.01, true
		g.CalibrationU, g.RepeatabilityU, g.UReason = 0.003, 0.004, "a beam on two feet is good for 0.01 mm (common practice)"
	}
	return g
}

// checkKind says what of the gauge's entry does not go with its kind.
func (g *Gauge) checkKind(bad func(field, allowed string, found any)) {
	if g.Kind != "" && !slices.Contains(GaugeKinds, g.Kind) {
		bad("kind", fmt.Sprintf("one of %q", GaugeKinds), fmt.Sprintf("%q", g.Kind))
	}
	if g.ByEye() && (g.USBVendor != "" || g.Path != "" || g.Decoder != "" || g.Capture != "" || g.FootSwitch != "") {
		bad("port", "none: what is read by eye has no line, no decoder and no data key", g.Identity())
	}
	if g.Kind != LeavesGauge {
		if len(g.LeavesMM) > 0 {
			bad("leaves", "none: only a set of leaves has leaves", g.LeavesMM)
		}
		return
	}
	if len(g.LeavesMM) < 2 {
		bad("leaves", "two leaves or more", len(g.LeavesMM))
	}
	last := 0.0
	for i, mm := range g.LeavesMM {
		if !(mm >= thinnestLeaf && mm <= thickestLeaf) || math.IsNaN(mm) {
			bad(fmt.Sprintf("leaf[%d]", i+1), fmt.Sprintf("a thickness from %g to %g mm", thinnestLeaf, thickestLeaf), mm)
		} else if mm <= last {
			bad(fmt.Sprintf("leaf[%d]", i+1), fmt.Sprintf("more than the leaf before it, %g mm", last), mm)
		}
		last = mm
	}
}

// The thicknesses that a feeler leaf has, mm.
const thinnestLeaf, thickestLeaf = 0.005, 5.0
