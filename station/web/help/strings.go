package help

import (
	"sagitta/inspect"
	"sagitta/station/web/show"
)

// stringTopics explain the strings' heights, their pitch and where they buzz.
func stringTopics() []topic {
	return []topic{
		{
			Name: inspect.Pitch,
			Also: []string{"tuning", "in tune", "tuner", "cents", "flat", "sharp"},
			Is: []string{
				"How far an open string is from its target pitch, in cents, hundredths of a semitone. Tension bends the neck, so relief and action get a verdict at pitch only.",
			},
			How: []string{"Pluck the open string gently, half way, and wait a second.", "Tune up to the pitch, not down to it.", "Go over all strings twice: each one moves the others."},
			Out: []string{"New strings stretch: tune, wait, tune again, then measure everything again."},
			See: []string{inspect.Relief, inspect.Intonation},
		}, {
			Name: inspect.NutHeight,
			Also: []string{"nut slot", "first fret action", "string height at the nut", "nut too low", "nut too high", "open string buzz"},
			Is: []string{
				"The height of an open string's underside above the top of fret 1. It is set by the depth of the string's slot in the nut.",
			},
			How: []string{"At pitch, the string in its slot, relief and level right.", "Stand the gauge on the top of fret 1 beside the string; come up from below until it just touches. Do not lift the string."},
			Out: []string{"Too high plays sharp on the first frets; too low buzzes when played open."},
			See: []string{inspect.Action, show.HelpOnHeightGauge, show.HelpOnRuler},
		}, {
			Name: inspect.Action,
			Also: []string{"string height", "high action", "low action", "saddle", "bridge height", "12th fret", "gap under the string"},
			Is: []string{
				"The height of a string's underside above the top of a fret, the 12th unless the specification names another, open or pressed at fret 1 as the specification says.",
			},
			How: []string{atPitch, "Relief first: it moves the action, and not the other way round.", "Stand the gauge on the top of the fret beside the string and come up from below until it just touches. A tenth of a newton lifts a string there by about two tenths of a millimetre."},
			Out: []string{"The saddle moves about twice what is wanted at fret 12.", "The rod is for relief, never for action."},
			See: []string{inspect.Relief, inspect.NutHeight, show.HelpOnHeightGauge, show.HelpOnRuler},
		}, {
			Name: inspect.LeastClearance,
			Also: []string{"buzz", "fret buzz", "choking", "fretting out", "gap", "string gap"},
			Is: []string{
				"Pressed at a fret, a string runs straight from that crown to the saddle. The clearance is what lies between it and each crown beyond; the least of all is told, with where the string is pressed and over which fret.",
			},
			How: []string{"Nothing more is measured: it comes from the crowns beside the string and from the string's height over fret 1 and fret 12.", "A string that runs outside the measured tracks at a fret has no crown there, and that fret takes no part."},
			See: []string{inspect.ClearanceMargin, inspect.LevelDeviation, inspect.Action},
		}, {
			Name: inspect.ClearanceMargin,
			Also: []string{"buzz", "fret buzz", "plucked", "string swing", "rattle", "pluck"},
			Is: []string{
				"A plucked string swings down to the mirror image of the shape that it was plucked into: a triangle, deepest as far from the pressed end as the plectrum is from the saddle. What it leaves over the crowns is the clearance when plucked. Below 0, buzz is predicted, and the crown that is touched is named.",
			},
			How: []string{"Nothing more is measured. How hard and where the string is plucked stands in the specification under [pluck]; hard players buzz on correct necks."},
			See: []string{inspect.LeastClearance, inspect.Action},
		}, {
			Name: inspect.Intonation,
			Also: []string{"plays in tune", "octave", "12th fret harmonic", "saddle position", "compensation"},
			Is: []string{
				"How far a pressed string is from what its open pitch promises at that fret, in cents: at fret 12 an octave above it.",
			},
			How: []string{"New strings, relief, nut and action first.", "Read the string open, then pressed at the fret as it is played, without bending it sideways."},
			Out: []string{"Move the saddle back where the pressed note is sharp, forward where it is flat."},
			See: []string{inspect.Pitch, inspect.NutHeight, inspect.FretPosition},
		},
	}
}
