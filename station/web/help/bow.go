package help

import (
	"sagitta/inspect"
	"sagitta/station/web/show"
)

const atPitch = "Strings on and tuned to pitch: their pull is what bends the neck. Retune after every turn of the rod."
const posture = "The neck lies as the specification says, in the playing position or flat, and nobody leans on it."

// bowTopics explain how the neck bends, and the rod.
func bowTopics() []topic {
	return []topic{
		{
			Name: inspect.Relief,
			Also: []string{"bow", "forward bow", "back-bow", "backbow", "dip", "curve of the neck", "neck bend", "gap at the 7th", "straight neck", "up-bow", "concave", "convex"},
			Is: []string{
				"Relief is how far the neck dips between two frets, its datum pair: the first fret and the one where the neck meets the body, unless the specification says otherwise. A straight line lies over those two crowns; relief is its height above the crown of the relief fret, usually the 7th.",
				"Without its datum pair a relief says nothing: the same neck gives about 1.3 times as much when the line ends three frets further on. So the pair always stands with the value.",
			},
			How: []string{atPitch, posture, "Read the crowns along the track. The two datum frets and the relief fret decide; the others show the shape.", "A beam on two feet or a set of leaves gives relief at one place, without the shape."},
			Out: []string{"Tighten the rod for too much, loosen it for too little: a quarter turn at the most, then tune and measure again.", "Relief comes before action: it moves the strings at fret 12 as well, and the action does not move it."},
			See: []string{inspect.ReliefMax, inspect.SideDifference, show.HelpOnRod, show.HelpOnLeaves, show.HelpOnBeam, inspect.Action},
		}, {
			Name: inspect.ReliefMax,
			Also: []string{"deepest bow", "maximum relief", "S-curve", "lowest point", "local back-bow"},
			Is: []string{
				"The largest relief is the deepest dip under the same line, at whichever fret it lies. It is told with that fret.",
				"On an even bow it lies about half way along, near the 6th or 7th fret, and is hardly more than relief itself. Somewhere else, or much more, the bow is not even.",
			},
			How: []string{atPitch, "Read every crown between the datum frets: with one missing the deepest may not have been seen, and the value gets no verdict."},
			Out: []string{"Where it lies tells more than how large it is: near the nut or the joint look at the level of the frets there before the rod is turned."},
			See: []string{inspect.Relief, inspect.LevelDeviation, show.HelpOnRod},
		}, {
			Name: inspect.SideDifference,
			Also: []string{"bass and treble side", "uneven bow", "one side bows more", "side to side"},
			Is: []string{
				"The relief of the bass side less that of the treble side, both read as profiles over the same datum pair.",
				"A little more on the bass side is often meant. Much more is often a twist.",
			},
			How: []string{atPitch, "Read both outer tracks in one laying, the neck and the carriage left where they are."},
			Out: []string{"One rod moves both sides alike and cannot even them. Look at twist and level first."},
			See: []string{inspect.Twist, inspect.Relief, show.HelpOnLaying},
		}, {
			Name: show.HelpOnRod, Title: "Truss rod", Step: inspect.StepRod,
			Also: []string{"rod", "tighten", "loosen", "adjust", "quarter turn", "clockwise", "hex key", "double-acting", "single-acting", "stuck rod"},
			Is: []string{
				"The rod pulls the neck straight against the strings. Tightened, relief falls; loosened, the strings pull more relief in. A single-acting rod only pulls back; a double-acting one also pushes forward, with a slack zone between, in which nothing moves.",
			},
			How: []string{
				"Find the nut and a key that fits it without play.",
				"Turn as the step says, a quarter turn at the most; an eighth when near the target or on an old neck.",
				"Tune to pitch, let the neck settle a few minutes, and measure again.",
				"Record what was done with its turns: the station learns what a turn does on this neck and on its model.",
			},
			Out: []string{
				"Stop and hand the neck on when it gets harder to turn and nothing moves, when it clicks or spins free, when relief goes the wrong way, or when the neck is back-bowed with the rod slack.",
			},
			See: []string{inspect.Relief, inspect.Action},
		},
	}
}
