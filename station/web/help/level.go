package help

import (
	"sagitta/inspect"
	"sagitta/station/web/show"
)

// levelTopics explain what the frets do along the neck beside its bow.
func levelTopics() []topic {
	return []topic{
		{
			Name: inspect.LevelDeviation,
			Also: []string{"high fret", "low fret", "uneven fret", "fret level", "buzzing fret", "dead note"},
			Is: []string{
				"The bend curve is a smooth line through the crowns up to the joint that follows the neck's bow and lets itself not be pulled by a single high fret. A crown's level deviation is how far it stands above that line, or below it.",
			},
			How: []string{"Read every crown of the track up to the joint; five at the least.", "The plunger stands on the top of the crown, not on its flank, and does not press a loose fret down."},
			Out: []string{"Tap along the fret and press it down: where the reading falls, the fret is loose and is seated before anything is levelled."},
			See: []string{inspect.Rocker, inspect.LevelZone, show.HelpOnCarriage},
		}, {
			Name: inspect.Rocker,
			Also: []string{"fret rocker", "three-fret check", "high fret", "low fret", "rocking", "short straightedge"},
			Is: []string{
				"A short straightedge over three frets rocks on the middle one where that stands high. The rocker is that height in figures: how far a crown stands above the line through its two neighbours. What the bow itself does between them is taken off.",
				"It finds high frets well and low ones poorly: one high fret looks like two low neighbours.",
			},
			How: []string{"It comes from the same crowns as the profile; nothing more is measured.", "A hand-built neck keeps within 0.03 mm, a usual one within 0.05 mm (common practice; the specification's limits count)."},
			Out: []string{"Look at both neighbours before one fret is called low."},
			See: []string{inspect.LevelDeviation, inspect.LeastClearance},
		}, {
			Name: inspect.LevelZone,
			Also: []string{"flatness", "fret level", "levelness", "plane of the frets"},
			Is: []string{
				"What is left of all crowns up to the joint once the bow and the twist are taken out, which relief and twist judge already: the width of the narrowest band that holds them. It is the usual limit for the level of a strung neck.",
			},
			How: []string{"Read every crown up to the joint, on both outer tracks, in one laying."},
			Out: []string{"The list of level deviations says which frets make the band wide: start there."},
			See: []string{inspect.LevelDeviation, inspect.Flatness},
		}, {
			Name: inspect.Straightness,
			Also: []string{"straight", "straightedge", "ISO 12780", "minimum zone"},
			Is: []string{
				"The distance of the two parallel lines that just hold every crown of one track between them, turned so that they lie as near to one another as can be. The bow counts: on a strung neck most of it is relief.",
			},
			How: []string{"Read every crown of the track: with one missing the worst may not have been seen."},
			Out: []string{"See what of it is bow, by relief, and what is level, by the level deviations."},
			See: []string{inspect.Relief, inspect.LevelZone},
		}, {
			Name: inspect.Flatness,
			Also: []string{"flat", "ISO 12781", "minimum zone", "plane"},
			Is: []string{
				"As straightness, over the whole board: the distance of the two parallel planes that just hold every crown of all tracks, once the board's radius is taken out. Bow and twist count.",
			},
			How: []string{"Read every crown on two tracks or more, in one laying."},
			Out: []string{"Look at relief and twist first: they are most of it on a strung neck. What they leave is the level zone."},
			See: []string{inspect.LevelZone, inspect.Twist, show.HelpOnLaying},
		}, {
			Name: inspect.Hump,
			Also: []string{"ski jump", "rising tongue", "joint", "body end", "kick-up", "bump at the joint"},
			Is: []string{
				"Beyond the joint the board hardly bends; it should go on straight or sink a little. The hump is how far the highest crown there stands above the bend curve's straight continuation, 0 where all lie below it.",
			},
			How: []string{"Read every crown, also those over the body."},
			Out: []string{"A hump is never a matter of the rod: it goes to the repairer."},
			See: []string{inspect.FallAway, inspect.LeastClearance},
		}, {
			Name: inspect.FallAway,
			Also: []string{"fall-off", "drop-off", "rising tongue", "tongue", "last fret", "extension"},
			Is: []string{
				"How far the last crown lies below the bend curve's straight continuation beyond the joint. A little is wanted, up to about 0.4 mm (common practice); below 0 the tongue rises.",
			},
			How: []string{"Read every crown up to the joint, and the last one."},
			See: []string{inspect.Hump, inspect.LevelDeviation},
		},
	}
}
