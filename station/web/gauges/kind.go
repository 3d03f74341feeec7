package gauges

import (
	"net/url"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
)

// kindsWithLine are the kinds of gauge that send what they show.
var kindsWithLine = []batch.GaugeKind{batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge, batch.EncoderGauge, batch.TunerGauge}

// kindsByEye are those that a person reads.
var kindsByEye = []batch.GaugeKind{batch.LeavesGauge, batch.RulerGauge, batch.BeamByEyeGauge}

// fieldsOf are the fields of a gauge's form that not every kind has, with the kinds that have them.
var fieldsOf = map[string][]batch.GaugeKind{
	"measures":   {batch.IndicatorGauge, batch.HeightGauge, batch.CaliperGauge, batch.RulerGauge},
	"resolution": slices.Concat(kindsWithLine, []batch.GaugeKind{batch.BeamByEyeGauge}),
	"travel":     {batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge},
	"sense":      {batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge, batch.EncoderGauge, batch.BeamByEyeGauge},
	"leaves":     {batch.LeavesGauge},
	"feet_by":    {batch.BeamGauge, batch.BeamByEyeGauge},

	"port":        slices.Concat(kindsWithLine, []batch.GaugeKind{batch.FootSwitchGauge, batch.LampGauge}),
	"decoder":     kindsWithLine,
	"foot_switch": slices.Concat(kindsWithLine, []batch.GaugeKind{batch.FootSwitchGauge}),

	"u_calibration": {batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge, batch.RulerGauge, batch.BeamByEyeGauge},
	"calibration":   {batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge, batch.BeamByEyeGauge},
	"reference":     {batch.IndicatorGauge, batch.BeamGauge, batch.BeamByEyeGauge},

	"zero_limit": {batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge, batch.TunerGauge, batch.BeamByEyeGauge},
	"loses_zero": {batch.IndicatorGauge, batch.HeightGauge, batch.BeamGauge, batch.CaliperGauge, batch.TunerGauge},
	"masters":    {batch.IndicatorGauge, batch.HeightGauge, batch.CaliperGauge},
}

// goesWith are fields that the same kinds have as another.
var goesWith = map[string]string{
	"feet_scale": "feet_by", "feet_first": "feet_by", "feet_second": "feet_by", "plunger": "feet_by",
	"path": "port", "usb_vendor": "port", "usb_product": "port", "usb_serial": "port", "usb_socket": "port",
	"own_decoder": "decoder", "capture": "decoder", "prefix": "decoder", "channel": "decoder", "key_channel": "decoder",
	"u_repeatability": "u_calibration", "u_reason": "u_calibration", "u_reference": "reference",
	"each_shift": "zero_limit", "check_hours": "zero_limit",
}

// has tells whether a gauge of a kind has a field in its form.
func has(k batch.GaugeKind, name string) bool {
	if other, ok := goesWith[name]; ok {
		name = other
	}
	kinds, some := fieldsOf[name]
	return !some || slices.Contains(kinds, k)
}

// withFields leaves the fields out that the gauge's kind does not have. One that holds something already stays, so that no saving loses it.
func withFields(groups []form.Group, g batch.Gauge) []form.Group {
	for i := range groups {
		groups[i].Fields = slices.DeleteFunc(groups[i].Fields, func(f form.Field) bool {
			empty := f.Kind == "select" || f.Kind == "check" || strings.TrimSpace(f.Value) == "" || f.Value == "0"
			return !has(g.Kind, f.Name) && empty
		})
	}
	return slices.DeleteFunc(groups, func(g form.Group) bool { return len(g.Fields) == 0 })
}

// newOf is a gauge to be entered, of a kind: what is usual of it stands in its form already.
func newOf(k batch.GaugeKind, lengths unit.Unit) batch.Gauge {
	if slices.Contains(kindsByEye, k) {
		g := batch.Ordinary(k, lengths)
		g.CalibrationU, g.RepeatabilityU, g.UReason = 0, 0, "" // proposed where they are left empty
		return g
	}
	g := batch.Gauge{Kind: k, Name: tell.GaugeKinds[k], Measures: k.Usual(), Sense: 1, Capture: "key"}
	if has(k, "resolution") {
		g.ResolutionMM = 0.01
	}
	if has(k, "zero_limit") {
		g.ZeroLimitMM, g.CheckHours, g.EachShift = 0.01, 12, true
	}
	return g
}

// kindLines are links to the forms of kinds.
func kindLines(kinds []batch.GaugeKind, more string) []kindLine {
	lines := make([]kindLine, len(kinds))
	for i, k := range kinds {
		lines[i] = kindLine{tell.GaugeKinds[k], "/gauges/new?kind=" + url.QueryEscape(string(k)) + more}
	}
	return lines
}

// kindLine is a kind of gauge to go on with.
type kindLine struct{ Words, Path string }

// leafLine writes the thicknesses of leaves as the form reads them.
func leafLine(leaves []float64, lengths unit.Unit) string {
	words := make([]string, len(leaves))
	for i, mm := range leaves {
		words[i] = show.ExactNumber(mm, lengths)
	}
	return strings.Join(words, " ")
}

// kindsFor are links to the form of a gauge as another kind that is found and read the same way.
func kindsFor(g batch.Gauge) []kindLine {
	kinds := kindsWithLine
	switch {
	case g.NoGauge():
		return nil
	case g.ByEye():
		kinds = kindsByEye
	}
	var lines []kindLine
	for _, k := range kinds {
		if k != g.Kind {
			lines = append(lines, kindLine{tell.GaugeKinds[k], "/gauges/" + url.PathEscape(g.ID) + "?kind=" + url.QueryEscape(string(k)) + "#entry"})
		}
	}
	return lines
}
