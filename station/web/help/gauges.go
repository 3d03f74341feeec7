package help

import (
	"sagitta/inspect"
	"sagitta/station/web/show"
)

// gaugeTopics explain the gauges: where each stands, and what the station asks of it.
func gaugeTopics() []topic {
	return []topic{
		{
			Name: show.HelpOnCarriage, Title: "Indicator on a carriage",
			Also: []string{"dial indicator", "crown height", "profile", "plunger", "fret by fret", "depth gauge"},
			Is:   []string{"A carriage on a straight beam carries an indicator along the neck. At each fret its plunger stands on the crown and reads its height. Only differences count: where the beam lies, and how it is tilted, drops out."},
			How:  []string{"Neck and beam stay where they are for the whole laying.", "Put the plunger on the top of the crown that is ringed twice on the bench's picture, let it rest, and press the data key.", "A higher crown reads higher. Where the indicator is mounted so that it reads the other way, its page under Gauges says so."},
			Out:  []string{"A reading far from what its neighbours say is asked about at once: measure that crown and the one before it again."},
			See:  []string{show.HelpOnSweep, show.HelpOnLaying, show.HelpOnCheck},
		}, {
			Name: show.HelpOnSweep, Title: "Sweep of the carriage",
			Also: []string{"scan", "drag", "push along", "continuous"},
			Is:   []string{"Instead of a placement at each fret the carriage is pushed along a track in one go; the gauge sends all the while, and the highest point over each fret is its crown."},
			How:  []string{"Put the carriage before fret 1 and begin the sweep with the gauge's data key.", "Push slowly and evenly to the end; the page says when it has ended.", "Too fast and a crown is missed; the page says which, and the sweep is made once more."},
			See:  []string{show.HelpOnCarriage, show.HelpOnLaying},
		}, {
			Name: show.HelpOnHeightGauge, Title: "Height gauge",
			Also: []string{"string height gauge", "action gauge"},
			Is:   []string{"A gauge that stands on the top of a fret and reads how high the string's underside lies above it."},
			How:  []string{"Foot on the crown, beside the string and square to it.", "Finger up until it just touches; a string that is lifted reads too high, and a spring plunger lifts it.", "Press the data key, string by string as the page asks, bass to treble."},
			See:  []string{inspect.Action, inspect.NutHeight, show.HelpOnRuler, show.HelpOnCheck},
		}, {
			Name: show.HelpOnCaliper, Title: "Caliper",
			Also: []string{"depth rod", "vernier", "sliding gauge", "calliper"},
			Is:   []string{"A caliper reads a string's height with its depth rod, where there is no height gauge. It is read by sight, and a string that is touched moves: its uncertainty is that of the hand, not of the display."},
			How:  []string{"Depth rod on the top of the crown, beside the string and upright.", "Bring the body's end level with the string's underside; do not touch it.", "Press the data key, or type what it shows."},
			See:  []string{show.HelpOnHeightGauge, inspect.Action, inspect.NutHeight},
		}, {
			Name: show.HelpOnRuler, Title: "Ruler",
			Also: []string{"scale", "sixty-fourths", "by eye", "rule", "parallax"},
			Is:   []string{"A ruler with its zero at its end, held on a fret beside the string. It is read to about half a mark: a typed height counts with ± 0.1 mm unless it is typed with its own."},
			How:  []string{"Ruler upright on the top of the crown, its marks beside the string.", "The eye level with the string's underside: looked at from above or below it reads wrong.", "Type it as it is read: 1.9, 5/64 or .075 in."},
			See:  []string{inspect.Action, inspect.NutHeight, show.HelpOnHeightGauge},
		}, {
			Name: show.HelpOnLeaves, Title: "Feeler leaves",
			Also: []string{"feeler gauge", "leaf", "thickness gauge", "capo", "gap at the 7th"},
			Is:   []string{"The string, pressed at both datum frets, is the straight line; leaves of known thickness say how large the gap at the relief fret is. Two leaves are noted: the thickest that passes and the thinnest that does not. Relief lies between them."},
			How:  []string{atPitch, "Press the string on the datum frets, not behind them: a capo at the first helps.", "Slide leaves in along the crown; one that lifts the string does not pass. Sight along the string while you do.", "Where no leaf passes, say so: there may be a back-bow."},
			Out:  []string{"Where the limit lies between the two leaves the page asks for one in between."},
			See:  []string{inspect.Relief, show.HelpOnBeam},
		}, {
			Name: show.HelpOnBeam, Title: "Beam on two feet",
			Also: []string{"two-foot beam", "straightedge with dial", "relief gauge", "notched straightedge", "beam gauge"},
			Is:   []string{"A beam with two feet and a plunger between them reads the depth of the bow over its own span. Where its feet do not stand on the datum frets, the station works the relief out for an even bow and says that it is converted."},
			How:  []string{"Zero it on a flat with both feet down.", "Feet on the tops of the crowns that the page names, along the track, not on a string.", "Let it stand by its own weight: pressing bends the neck."},
			See:  []string{inspect.Relief, show.HelpOnCheck, show.HelpOnLeaves},
		}, {
			Name: show.HelpOnCheck, Title: "Check on the flat and the master",
			Also: []string{"zero", "calibration", "setting master", "gauge block", "locked out", "drift", "surface plate", "gauge check"},
			Is:   []string{"A gauge has to prove itself before it may judge: it is zeroed on a flat reference and then has to show the size of a master. It is asked for before a shift, when the last check has run out, and whenever the gauge was unplugged, fell or lost its power."},
			How:  []string{"Wipe flat, master and plunger.", "Stand the gauge on the flat as it stands on the neck, let it rest, press its key.", "Stand it on each master that the page names, and press again."},
			Out:  []string{"Failed, the gauge is locked out, and the necks since its last check that passed are in doubt and listed. Clean everything and check again; where it fails again the gauge is not used."},
			See:  []string{show.HelpOnCarriage, show.HelpOnHeightGauge, show.HelpOnLaying},
		}, {
			Name: show.HelpOnLaying, Title: "Layings: when something was moved",
			Also: []string{"moved", "parked", "again", "links", "reposition", "carried over", "asked once more", "closing reading"},
			Is:   []string{"While neck and carriage stay where they are, all crowns are read in one plane: that is a laying. Once something moved, new readings lie in another plane. A few crowns, measured once more, say how the planes lie to one another, and what was read before is carried over."},
			How:  []string{"Say it with F1 when neck or carriage was moved.", "Measure the crowns that the page then asks for: of each track the first, the one half way, and the last.", "Where they do not agree, the neck changed, and the page asks for the rest again. Nothing is lost."},
			See:  []string{show.HelpOnCarriage, inspect.Twist},
		}, {
			Name: show.HelpOnFootSwitch, Title: "Foot switch",
			Also: []string{"pedal", "hands free", "trigger", "F8"},
			Is:   []string{"A switch for the foot takes the reading while both hands hold neck and gauge. It closes a modem line of a gauge's port, or types F8."},
			How:  []string{"Press shortly: the reading is taken.", "Hold for 0.8 s: the last reading is taken back."},
			See:  []string{show.HelpOnCarriage, show.HelpOnLamp},
		}, {
			Name: show.HelpOnLamp, Title: "Lamp",
			Also: []string{"light", "signal lamp", "green", "red", "amber", "stack light"},
			Is:   []string{"A lamp on an adapter of its own shows from afar what the bench's page says: green after a pass, red after rework, repair or a refusal, both where an answer or a decision is awaited."},
			How:  []string{"Enter it under Gauges as a lamp; RTS lights the green one, DTR the red one.", "What it shows is also said by the bench's page in words: nobody has to tell colours apart."},
			See:  []string{show.HelpOnFootSwitch},
		},
	}
}
