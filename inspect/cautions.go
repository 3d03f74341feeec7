package inspect

// The cautions shown where a step is.
const (
	cautionTension       = "Strings are under tension: wear eye protection when slackening, cutting or tuning."
	cautionForce         = "Never force the rod: one that will not move can break inside the neck."
	cautionQuarter       = "No more than a quarter turn at a step; tune and measure again after each."
	cautionPitch         = "Tightening raises the pitch slightly and loosening lowers it: retune before measuring."
	cautionRepairer      = "A stuck or bottomed-out rod, a back-bow with a slack rod, a hump or a twist goes to an experienced repairer."
	cautionRepairerAlone = "Heat, a hump or a twist goes to an experienced repairer."
	cautionOwnWork       = "Heat loosens glue as well as it bends wood, and what is planed off does not come back: stop where you are not sure, and do not do for the first time here what nobody has shown you."
	cautionEnds          = "Fret ends cut: dress them, or wear gloves that do not snag."
	cautionDust          = "Fret and board dust, glues and solvents by the workshop's rules: extraction or mask, no open flame."
	cautionMetal         = "Metal taken off does not come back: measure the crown's height first, take off half, measure again."
	cautionSlot          = "A slot filed too deep means a new nut: stop early and measure with the string in its slot and at pitch."
	cautionSaddle        = "Slacken the string before its saddle is raised; check relief again at pitch afterwards."
	cautionOneSaddle     = "Take the saddle out with all strings slack. Material taken off does not come back: take off half, put it back, tune and measure again."
	cautionFloating      = "A floating bridge: block it before strings are slackened, for all of them move when one does."
	CautionPerson        = "The program advises; a trained person decides."
)
