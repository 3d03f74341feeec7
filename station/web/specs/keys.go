package specs

import (
	"sagitta/inspect"
	"sagitta/station/web/form"
)

// key is what a form says of a key of a specification's file: its place in the list is its place in the form. Whatever key the
// reader has needs one here; TestEveryKeyHasAField says which has none.
type key struct {
	path    string // in the file, without the numbers of lists: "string.pitch_hz"
	label   string
	unit    string  // inside the field; "mm" is shown in the page's unit
	low     float64 // what is allowed, in the file's unit, where high is above it
	high    float64
	allowed string   // in words, where it is not only low to high
	choices []choice // of a text or a truth value that is chosen
	about   string   // what it means, where the label does not tell
}

// choice is one value that a field offers.
type choice struct{ value, words string }

// section is a part of the form.
type section struct {
	ID, Title string
	About     string
	has       string   // path of a table that may be left out as a whole, "" where it may not
	paths     []string // of the tables whose keys it shows
	figures   []string // drawings of what it means
}

// sections are the form's parts in their order.
var sections = []section{
	{ID: "neck", Title: "Neck", paths: []string{"", "neck"}, figures: []string{"scale", "radius"}, About: "Its name and what was built. Lengths along the neck count from the nut's front edge."},
	{ID: "string", Title: "Strings", paths: []string{"string"}, figures: []string{"string"}, About: "Number 1 is the outermost on the treble side. Places across the board count from the neck's middle line, the treble side positive."},
	{ID: "limit", Title: "Limits", paths: []string{"limit"}, figures: []string{"limit"}, About: "What is judged. A limit needs a lower or an upper bound; what has no limit is shown and not judged."},
	{ID: "routine", Title: "Routine", has: "routine", paths: []string{"routine"}, figures: []string{"track"}, About: "What the bench asks for, in order: this decides how many points a neck has and how long it takes."},
	{ID: "track", Title: "Tracks of its own", paths: []string{"track"}, figures: []string{"track"}, About: "Lines along which a gauge goes. Bass, centre and treble are there without being named: under the outer strings and down the middle."},
	{ID: "datum", Title: "Relief datum", paths: []string{"datum"}, figures: []string{"relief"}, About: "Between which frets the line lies that relief is measured from, and where it is taken."},
	{ID: "decision", Title: "Decision", paths: []string{"decision"}, figures: []string{"guard"}, About: "How a value is judged that lies within its uncertainty of a limit (ISO 14253-1, JCGM 106)."},
	{ID: "uncertainty", Title: "Uncertainty of one reading", paths: []string{"uncertainty"}, figures: []string{"spread"}, About: "Standard uncertainties where the gauge's own page names none. All four, or none."},
	{ID: "pluck", Title: "Pluck", has: "pluck", paths: []string{"pluck"}, figures: []string{"pluck"}, About: "How hard the strings are played: predicts where they buzz. Without it no clearance when plucked is worked out."},
	{ID: "plan", Title: "Planned yield", has: "plan", paths: []string{"plan", "plan.reason"}, About: "What yields are compared with. It judges no neck."},
	{ID: "alarms", Title: "Alarms", has: "alarms", paths: []string{"alarms"}, About: "What is watched while a batch is inspected. Left out: every characteristic with a limit, test 1 and an EWMA."},
}

// words offers texts as they stand in the file.
func words(all ...string) []choice {
	choices := make([]choice, len(all))
	for i, w := range all {
		choices[i] = choice{w, w}
	}
	return choices
}

// usual puts the choice of leaving a key out before others.
func usual(says string, others []choice) []choice { return append([]choice{{"", says}}, others...) }

const placeAcross = "treble side positive"

// keys are the form's fields in their order.
var keys = []key{
	{path: "name", label: "Name", allowed: "of the model"},
	{path: "revision", label: "Revision", allowed: "with the name it is there once", about: "A change of what a batch is judged by needs a new one."},

	{path: "neck.kind", label: "Kind of instrument", choices: usual("not said: as an electric", words(inspect.InstrumentKinds()...)), about: "What is usual for it goes where nothing else is given: the relief worked towards, how a rod moves it, what strings are made of."},
	{path: "neck.scale_mm", label: "Scale", unit: "mm", low: 100, high: 2000, allowed: "empty where it is in inches, or on a multi-scale neck", about: "From the nut to the saddle without compensation, twice the way to fret 12."},
	{path: "neck.scale_in", label: "Scale in inches", unit: "in", low: 3.94, high: 78.74, allowed: "instead of the scale, like 25.5"},
	{path: "neck.scale_bass_mm", label: "Scale of the outermost bass string", unit: "mm", low: 100, high: 2000, allowed: "only on a multi-scale neck, with the next, instead of the scale"},
	{path: "neck.scale_treble_mm", label: "Scale of the outermost treble string", unit: "mm", low: 100, high: 2000, allowed: "both or neither"},
	{path: "neck.perpendicular_fret", label: "Fret square to the middle line", low: 0, high: 48, allowed: "0 is the nut, may be a fraction; empty: 7 on a multi-scale neck"},
	{path: "neck.frets", label: "Frets", low: 3, high: 48, about: "Each is one crown more to measure on every track."},
	{path: "neck.joint_fret", label: "Fret at the joint", low: 2, high: 48, allowed: "2 to the last fret", about: "Where neck and body meet: beyond it the board hardly bends."},
	{path: "neck.nut_radius_mm", label: "Board radius at the nut", unit: "mm", low: 0, high: 1e6, allowed: "0 is flat, else above half the board's width"},
	{path: "neck.last_fret_radius_mm", label: "Board radius at the last fret", unit: "mm", low: 0, high: 1e6, allowed: "0 is flat; between the two it goes evenly"},
	{path: "neck.rod", label: "Truss rod", choices: []choice{{"single", "single-acting"}, {"double", "double-acting"}, {"none", "none"}}},
	{path: "neck.rod_end", label: "The rod's nut is turned", choices: usual("not said", []choice{{"headstock", "at the headstock"}, {"body", "at the body"}}), about: "Which way tightens is said as one faces it there."},
	{path: "neck.rod_turns_left", label: "Turns left in the tightening direction", unit: "turns", low: 0, high: 20, allowed: "may stay empty"},
	{path: "neck.joint", label: "Joint of neck and body", choices: usual("not said", words(inspect.Joints()...))},
	{path: "neck.bridge", label: "Bridge", choices: usual("not said: a saddle per string", words(inspect.Bridges()...)), about: "How action is changed: what the advice tells to do."},
	{path: "neck.zero_fret", label: "Zero fret", choices: words("a zero fret"), about: "The open strings lie on a fret at the nut's place, and the nut only guides them."},

	{path: "string.number", label: "Number", low: 1, high: 12, allowed: "each once"},
	{path: "string.name", label: "Note", allowed: "as in E2"},
	{path: "string.pitch_hz", label: "Pitch", unit: "Hz", low: 1, high: 20000},
	{path: "string.y_nut_mm", label: "y at the nut", unit: "mm", low: -200, high: 200, about: placeAcross},
	{path: "string.y_saddle_mm", label: "y at the saddle", unit: "mm", low: -200, high: 200, about: placeAcross},
	{path: "string.diameter_mm", label: "Diameter", unit: "mm", low: 0.01, high: 10},
	{path: "string.mass_g_per_m", label: "Mass", unit: "g/m", low: 0.001, high: 1000, allowed: "nylon needs it"},
	{path: "string.plain", label: "Plain", choices: words("yes")},
	{path: "string.material", label: "Material", choices: usual("usual", words(inspect.Materials()...))},

	{path: "limit.characteristic", label: "Characteristic"},
	{path: "limit.track", label: "Side or track"},
	{path: "limit.string", label: "String", allowed: "each, or a number"},
	{path: "limit.fret", label: "Fret", allowed: "each, or a number"},
	{path: "limit.held_fret", label: "Pressed at fret", low: 0, high: 48, allowed: "empty: open"},
	{path: "limit.lower", label: "Lower limit"},
	{path: "limit.target", label: "Target"},
	{path: "limit.upper", label: "Upper limit"},

	{path: "routine.profile", label: "Profile", choices: usual("as usual: each fret", []choice{{"each fret", "each fret, one placement a crown"}, {"sweep", "sweep of a carriage"}, {"beam", "beam on two feet"}, {"leaves", "feeler leaves"}, {"none", "none"}})},
	{path: "routine.tracks", label: "Tracks, in this order", allowed: "as usual: bass and treble"},
	{path: "routine.strings", label: "Strings gauged", allowed: "each, none, or numbers as in 1, 6"},
	{path: "routine.action_frets", label: "Action over frets", allowed: "numbers as in 12, 15; none; empty: 12"},
	{path: "routine.pitch", label: "Pitch", choices: usual("as usual: measured", []choice{{"measured", "measured, string by string"}, {"declared", "declared: the inspector confirms it"}})},
	{path: "routine.posture", label: "Posture", choices: usual("as usual: playing", []choice{{"playing", "playing position"}, {"flat", "lying flat"}}), about: "Gravity bends a neck: relief differs between the two."},
	{path: "routine.closing", label: "Closing reading", choices: usual("as usual: yes", []choice{{"yes", "yes, two crowns once more"}, {"no", "no"}}), about: "Shows at the end of the profile that nothing moved."},
	{path: "routine.leaves_mm", label: "Leaves of the shop", unit: "mm", allowed: "thicknesses as in 0.05, 0.10, each 0.005 to 5 mm", about: "A leaf that is typed and is none of them is asked about."},

	{path: "routine.whole", label: "After rework", choices: words("the whole routine again"), about: "Otherwise only what the work can have changed is measured again."},
	{path: "routine.two_sign", label: "A concession", choices: words("takes two people"), about: "Where people sign on: a second quality manager gives their password too."},
	{path: "routine.repairs", label: "What is more than a set-up", choices: usual("not said: goes to a repairer", []choice{{inspect.ByRepairer, "goes to a repairer"}, {inspect.Myself, "I do this work myself"}}), about: "By oneself: advice gives the step itself, with its caution, and takes first what is quick and can be undone."},
	{path: "routine.takt_s", label: "Time that a neck may take", unit: "s", low: 1, high: 86400, allowed: "may stay empty"},

	{path: "track.name", label: "Name", allowed: `other than "each"`},
	{path: "track.y_nut_mm", label: "y at the nut", unit: "mm", low: -200, high: 200, about: placeAcross},
	{path: "track.y_saddle_mm", label: "y at the saddle", unit: "mm", low: -200, high: 200, about: placeAcross},

	{path: "datum.first_fret", label: "First datum fret", low: 1, high: 48, allowed: "empty: 1"},
	{path: "datum.second_fret", label: "Second datum fret", low: 1, high: 48, allowed: "two after the first at least; empty: the joint"},
	{path: "datum.relief_fret", label: "Relief is taken at fret", low: 1, high: 48, allowed: "between the two; empty: 7"},

	{path: "decision.rule", label: "Rule", choices: usual("as usual: simple", []choice{{"simple", "simple acceptance"}, {"guarded_acceptance", "guarded acceptance"}, {"guarded_rejection", "guarded rejection"}}), about: "Guarded acceptance passes only what is well inside; guarded rejection refuses only what is well outside."},
	{path: "decision.guard_factor", label: "Guard factor", low: 0, high: 10, allowed: "standard uncertainties; empty: 1.645, 0: no guard"},

	{path: "uncertainty.resolution_mm", label: "Resolution", unit: "mm", low: 0, high: 10, about: "The smallest step that is read."},
	{path: "uncertainty.calibration_mm", label: "Calibration", unit: "mm", low: 0, high: 10, about: "What the certificate leaves open."},
	{path: "uncertainty.repeatability_mm", label: "Repeatability", unit: "mm", low: 0, high: 10, about: "The spread of one place read again."},
	{path: "uncertainty.reference_mm", label: "Reference", unit: "mm", low: 0, high: 10, about: "Of the flat that the zero is taken on."},

	{path: "pluck.force_n", label: "Force square to the board", unit: "N", low: 0, high: 100},
	{path: "pluck.distance_mm", label: "Distance from the saddle", unit: "mm", low: 0.1, high: 2000, allowed: "above 0, at most the scale"},

	{path: "plan.first_pass_percent", label: "Passed at the first inspection", unit: "%", low: 0, high: 100, allowed: "may stay empty"},
	{path: "plan.final_percent", label: "Passed, at whichever inspection", unit: "%", low: 0, high: 100, allowed: "may stay empty"},
	{path: "plan.reason.characteristic", label: "Failed first by", allowed: "what has a limit"},
	{path: "plan.reason.most_percent", label: "Planned share", unit: "%", low: 0, high: 100},

	{path: "alarms.characteristics", label: "Charts watched", allowed: "as usual: all that have a limit"},
	{path: "alarms.tests", label: "Run tests", allowed: "numbers 1 to 8 as in 1, 5; none; empty: 1", about: "Numbered as in ISO 7870-2; each further one adds false alarms."},
	{path: "alarms.ewma", label: "Weighted moving average (EWMA)", choices: usual("as usual: unless no test is watched", []choice{{"yes", "watched"}, {"no", "not watched"}})},
	{path: "alarms.least_necks", label: "Yield compared from", unit: "necks", low: 1, high: 100000, allowed: "empty: 10"},
}

// asOptions are a key's choices as a select offers them.
func (k key) options() []form.Option {
	options := make([]form.Option, len(k.choices))
	for i, c := range k.choices {
		options[i] = form.Option{Value: c.value, Label: c.words}
	}
	return options
}
