package history

import (
	"bytes"
	"math"
	"text/template"

	"sagitta/batch"
	"sagitta/inspect"
)

// model is one of the invented shop's models and how its necks come out of the works.
type model struct {
	name             string
	scale            float64
	frets, joint     int
	radius           float64
	rod              string
	rule             string
	relief, reliefLo float64 // target and lower limit, mm; the upper lies as far above
	action           [2]float64
	revisions        []revision
	perTurn          float64 // mm of relief per turn of the rod
}

// revision is one text of a model's specification: when it came in, as a share of the history, and how much wider its
// relief limits are than the model's.
type revision struct {
	name  string
	from  float64
	wider float64
}

var models = []model{
	{name: "QM Line 635", scale: 635, frets: 22, joint: 17, radius: 305, rod: "double", rule: "simple", relief: 0.28, reliefLo: 0.16,
		action: [2]float64{1.55, 1.85}, perTurn: 0.48, revisions: []revision{{"A", 0, 0}, {"B", 0.45, 0.02}}},
	{name: "QM Line 660", scale: 660, frets: 24, joint: 19, radius: 400, rod: "double", rule: "simple", relief: 0.26, reliefLo: 0.14,
		action: [2]float64{1.5, 1.8}, perTurn: 0.55, revisions: []revision{{"A", 0, 0}}},
	{name: "QM Parlour 628", scale: 628, frets: 19, joint: 12, radius: 400, rod: "single", rule: "guarded_acceptance", relief: 0.2, reliefLo: 0.08,
		action: [2]float64{1.8, 2.4}, perTurn: 0.4, revisions: []revision{{"A", 0, 0}, {"B", 0.3, 0.015}, {"C", 0.75, 0.03}}},
}

var specText = template.Must(template.New("spec").Parse(`# Invented: a model of an invented shop. Lengths in mm.
name = "{{.Name}}"
revision = "{{.Revision}}"
[neck]
scale_mm = {{.Scale}}
frets = {{.Frets}}
joint_fret = {{.Joint}}
nut_radius_mm = {{.Radius}}
last_fret_radius_mm = {{.Radius}}
rod = "{{.Rod}}"
{{range .Strings}}[[string]]
number = {{.Number}}
name = "{{.Name}}"
pitch_hz = {{.Hz}}
y_nut_mm = {{.Nut}}
y_saddle_mm = {{.Saddle}}
diameter_mm = {{.Diameter}}
mass_g_per_m = {{.Mass}}
{{end}}[decision]
rule = "{{.Rule}}"
[uncertainty]
resolution_mm = 0.005
calibration_mm = 0.002
repeatability_mm = 0.004
reference_mm = 0.002
[routine]
tracks = ["bass", "treble"]
profile = "each fret"
action_frets = [12]
strings = [1, 6]
pitch = "declared"
posture = "playing"
[[limit]]
characteristic = "relief"
track = "each"
lower_mm = {{.ReliefLo}}
target_mm = {{.Relief}}
upper_mm = {{.ReliefHi}}
[[limit]]
characteristic = "relief_side_difference"
lower_mm = -0.08
upper_mm = 0.08
[[limit]]
characteristic = "level_zone"
upper_mm = 0.12
[[limit]]
characteristic = "twist"
lower_deg = -0.5
upper_deg = 0.5
{{range .Actions}}[[limit]]
characteristic = "action"
string = {{.String}}
fret = 12
lower_mm = {{.Lower}}
target_mm = {{.Target}}
upper_mm = {{.Upper}}
{{end}}[[limit]]
characteristic = "nut_height"
string = 1
lower_mm = 0.3
target_mm = 0.45
upper_mm = 0.65

[[limit]]
characteristic = "nut_height"
string = 6
lower_mm = 0.3
target_mm = 0.45
upper_mm = 0.65
`))

// text is the specification of one revision of a model.
func (m *model) text(r revision) ([]byte, error) {
	type str struct {
		Number                          int
		Name                            string
		Hz, Nut, Saddle, Diameter, Mass float64
	}
	type act struct {
		String               int
		Lower, Target, Upper float64
	}
	var out bytes.Buffer
	err := specText.Execute(&out, map[string]any{
		"Name": m.name, "Revision": r.name, "Scale": m.scale, "Frets": m.frets, "Joint": m.joint, "Radius": m.radius, "Rod": m.rod, "Rule": m.rule,
		"Strings": []str{{1, "E4", 329.6276, 17.5, 26, 0.254, 0.4}, {2, "B3", 246.9417, 10.5, 15.6, 0.33, 0.67}, {3, "G3", 195.9977, 3.5, 5.2, 0.432, 1.15},
			{4, "D3", 146.8324, -3.5, -5.2, 0.66, 2.19}, {5, "A2", 110, -10.5, -15.6, 0.914, 4.08}, {6, "E2", 82.4069, -17.5, -26, 1.17, 6.9}},
		"Relief": m.relief, "ReliefLo": round(m.reliefLo - r.wider), "ReliefHi": round(2*m.relief - m.reliefLo + r.wider),
		"Actions": []act{{1, round(m.action[0] - 0.3), m.action[0], round(m.action[0] + 0.3)}, {6, round(m.action[1] - 0.3), m.action[1], round(m.action[1] + 0.3)}},
	})
	return out.Bytes(), err
}

// round writes a length or an angle to its third decimal, as a gauge would.
func round(v float64) float64 { return math.Round(v*1000) / 1000 }

// asked are the characteristics that the routine ends in, with their standard uncertainties.
var asked = []struct {
	inspect.Characteristic
	u float64
}{
	{inspect.Characteristic{Name: inspect.Relief, Track: "bass"}, 0.007}, {inspect.Characteristic{Name: inspect.Relief, Track: "treble"}, 0.007},
	{inspect.Characteristic{Name: inspect.SideDifference}, 0.01}, {inspect.Characteristic{Name: inspect.LevelZone}, 0.006},
	{inspect.Characteristic{Name: inspect.Twist}, 0.02},
	{inspect.Characteristic{Name: inspect.Action, String: 1}, 0.01}, {inspect.Characteristic{Name: inspect.Action, String: 6}, 0.01},
	{inspect.Characteristic{Name: inspect.NutHeight, String: 1}, 0.01}, {inspect.Characteristic{Name: inspect.NutHeight, String: 6}, 0.01},
}

// The places of asked that others refer to.
const (
	bass = iota
	treble
	sides
	level
	twist
	actionTreble
	actionBass
	nutTreble
	nutBass
	askedFor
)

// templateOf is what every neck of a revision is asked for, with limits and without values.
func templateOf(spec *inspect.Spec) ([askedFor]inspect.Characteristic, error) {
	var all [askedFor]inspect.Characteristic
	for i, a := range asked {
		c, err := spec.JudgeElsewhere(a.Characteristic)
		if err != nil {
			return all, err
		}
		all[i] = c
	}
	return all, nil
}

// gaugesOf are the gauges of one bench.
func gaugesOf(bench int) (profile, height batch.Gauge) {
	number := string(rune('1' + bench))
	profile = batch.Gauge{ID: "history-carriage-" + number, Name: "carriage indicator " + number, Measures: []batch.Kind{batch.Crown}, Capture: "key", Sense: 1,
		ResolutionMM: 0.005, CalibrationU: 0.002, RepeatabilityU: 0.004, ReferenceU: 0.002, ZeroLimitMM: 0.02}
	height = profile
	height.ID, height.Name, height.Measures = "history-height-"+number, "height gauge "+number, []batch.Kind{batch.ActionHeight, batch.NutHeight}
	return profile, height
}
