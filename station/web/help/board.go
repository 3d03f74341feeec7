package help

import (
	"sagitta/inspect"
	"sagitta/station/web/show"
)

// boardTopics explain what the board does across, and where its frets are.
func boardTopics() []topic {
	return []topic{
		{
			Name: inspect.Twist,
			Also: []string{"twisted neck", "warp", "winding", "winding sticks", "propeller", "wind"},
			Is: []string{
				"The board's slope across the neck at the joint fret less that at the first: the angle by which one end is turned against the other. Two levels or a pair of winding sticks show the same.",
			},
			How: []string{"Read both outer tracks in one laying: a neck or carriage that moved between them looks like a twist.", posture},
			Out: []string{"Measure once more in the playing position before it is believed; the rod does not help."},
			See: []string{inspect.SideDifference, show.HelpOnLaying},
		}, {
			Name: inspect.BoardRadius,
			Also: []string{"fingerboard radius", "fretboard radius", "camber", "compound radius", "curve of the board"},
			Is: []string{
				"The radius of the circle through one fret's crowns across the board. On a compound board it grows from the nut to the last fret.",
			},
			How: []string{"Read the fret on three tracks or more, in one laying, each track where the specification has it: sideways slips read as height."},
			See: []string{inspect.Flatness, show.HelpOnCarriage},
		}, {
			Name: inspect.FretPosition,
			Also: []string{"fret spacing", "fret slots", "scale length", "fret places", "rule of eighteen"},
			Is: []string{
				"Where a fret lies against where twelve-tone equal temperament puts it: each fret takes one part in 17.8 of what is left of the scale.",
			},
			How: []string{"Measure from the nut's front edge along the centre line to the middle of each crown, always from the nut and never from fret to fret: errors would add up."},
			Out: []string{"The same offset at all frets is the nut's, not the slots'."},
			See: []string{inspect.Intonation},
		},
	}
}
