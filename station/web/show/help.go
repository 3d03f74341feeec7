package show

import (
	"html/template"
	"net/url"

	"sagitta/batch"
	"sagitta/inspect"
)

// HelpPath is the page that explains a characteristic, by its name, or a gauge.
func HelpPath(topic string) string { return "/help/" + url.PathEscape(topic) }

// Help makes words lead to the page that explains a topic.
func Help(topic, words string) template.HTML {
	return template.HTML(`<a class="help" href="` + template.HTMLEscapeString(HelpPath(topic)) + `">` + template.HTMLEscapeString(words) + `</a>`)
}

// Topics of help that are no characteristic of the catalogue.
const (
	HelpOnCarriage    = "carriage"
	HelpOnSweep       = "sweep"
	HelpOnHeightGauge = "height-gauge"
	HelpOnCaliper     = "caliper"
	HelpOnRuler       = "ruler"
	HelpOnLeaves      = "leaves"
	HelpOnBeam        = "beam"
	HelpOnCheck       = "check"
	HelpOnLaying      = "laying"
	HelpOnFootSwitch  = "foot-switch"
	HelpOnLamp        = "lamp"
	HelpOnRod         = "truss-rod"
)

// HelpOnReading is the topic that explains how a kind of reading is measured, "" for none.
func HelpOnReading(k batch.Kind) string {
	switch k {
	case batch.Crown:
		return HelpOnCarriage
	case batch.ActionHeight:
		return inspect.Action
	case batch.NutHeight:
		return inspect.NutHeight
	case batch.Pitch, batch.PitchDeclared:
		return inspect.Pitch
	case batch.BeamReading:
		return HelpOnBeam
	case batch.LeafPasses, batch.LeafStops:
		return HelpOnLeaves
	case batch.Position, batch.Sweep:
		return HelpOnSweep
	case batch.Closing, batch.ShapeStep:
		return HelpOnLaying
	}
	return ""
}

// HelpOnGauge is the topic that explains how a kind of gauge is used, "" for none.
func HelpOnGauge(k batch.GaugeKind) string {
	return map[batch.GaugeKind]string{
		batch.IndicatorGauge:  HelpOnCarriage,
		batch.HeightGauge:     HelpOnHeightGauge,
		batch.BeamGauge:       HelpOnBeam,
		batch.BeamByEyeGauge:  HelpOnBeam,
		batch.CaliperGauge:    HelpOnCaliper,
		batch.EncoderGauge:    HelpOnSweep,
		batch.TunerGauge:      inspect.Pitch,
		batch.LeavesGauge:     HelpOnLeaves,
		batch.RulerGauge:      HelpOnRuler,
		batch.FootSwitchGauge: HelpOnFootSwitch,
		batch.LampGauge:       HelpOnLamp,
	}[k]
}
