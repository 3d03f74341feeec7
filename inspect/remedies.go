package inspect

import "slices"

// Remedy is what may lie behind a defect and what helps; common practice, no source.
type Remedy struct {
	Defect   string   // as an inspector would name it
	Causes   []string // likely ones, most likely first
	Remedies []string // mildest first
	Who      string   // who may do it: "inspector", "fret bench" or "repairer"
}

// Who may do a remedy.
const (
	byInspector = "inspector"
	byFrets     = "fret bench"
	byRepairer  = ByRepairer
)

// The defects that characteristics show.
var (
	overBow = Remedy{"over-bow", []string{"rod too slack for these strings", "heavier strings or higher tuning than planned", "climate since the last set-up", "rod at its end"},
		[]string{"tighten the rod in steps of at most a quarter turn", "check the string set and the pitch", "let the neck settle and measure again"}, byInspector}
	backBow = Remedy{"back-bow", []string{"rod too tight", "lighter strings or lower tuning than planned", "tangs too wide for their slots", "climate since the last set-up"},
		[]string{"loosen the rod in steps of at most a quarter turn", slackBackBow}, byInspector}
	unevenSides = Remedy{"sides bend differently", []string{"twist", "heavier strings on one side", "one side of the board reworked"},
		[]string{"compare with twist and level first", "even out by fret level where the difference is small"}, byFrets}
	highFret = Remedy{"high fret", []string{"end or middle not seated", "glue under the fret", "its neighbours worn"},
		[]string{"press it down and see whether the reading falls: then reseat and glue", "spot level, then crown and polish"}, byFrets}
	lowFret = Remedy{"low fret", []string{"worn or dressed too far", "its neighbours are high", "slot too deep or wood torn"},
		[]string{"look for high neighbours first", "reseat with glue", "replace the fret"}, byFrets}
	unlevel = Remedy{"frets not level", []string{"several frets not seated", "board not straight when fretted", "level done without its load"},
		[]string{"spot level the highest", "level all frets at strung shape, crown and polish", "plane the board and refret"}, byFrets}
	humped = Remedy{"hump at the joint", []string{"body end of the board swollen or lifted", "joint tightened on dirt", "tongue rises over the body"},
		[]string{"check the joint and its gap", "dress the frets over the joint where crowns allow", "plane the board there and refret", "heat press"}, byRepairer}
	risingTongue = Remedy{"tongue rise", []string{"body end of the board follows the body", "neck angle too steep", "frets over the body not dressed"},
		[]string{"dress the frets over the body", "plane and refret the body end", "reset the neck angle"}, byFrets}
	fallingTongue = Remedy{"too much fall-away", []string{"frets over the body dressed too far", "body end of the board sunk", "neck angle too shallow"},
		[]string{"level all frets so that the rest comes down", "refret the body end"}, byFrets}
	twisted = Remedy{"twist", []string{"wood moved after machining", "uneven string pull", "held crooked while glued or pressed"},
		[]string{"measure again in the playing position", "heat press", "plane the board and refret", "scrap"}, byRepairer}
	wrongRadius = Remedy{"board radius", []string{"levelled with the wrong block", "tracks not where the specification has them"},
		[]string{"check the tracks' places", "level with a block of the board's radius", "plane the board and refret"}, byFrets}
	highAction = Remedy{"action too high", []string{"too much relief", "saddle high", "nut high", "neck angle"},
		[]string{"relief first, then the nut", saddleDown, shimAtEnd}, byInspector}
	lowAction = Remedy{"action too low", []string{"too little relief", "saddle low", "nut slots cut too deep"},
		[]string{"relief first, then the nut", saddleUp}, byInspector}
	highNut = Remedy{"nut slot high", []string{"slot not cut to depth", "string binds in its slot", "thicker strings than planned"},
		[]string{"see that the string lies on the slot's floor", "file the slot a little at a time"}, byInspector}
	lowNut = Remedy{"nut slot low", []string{"slot filed too deep", "fret 1 high"},
		[]string{"check fret 1", "fill and recut the slot", "shim or replace the nut"}, byInspector}
	highZero = Remedy{"zero fret high", []string{"string lies on its slot's floor and not on the zero fret", "zero fret not seated", "higher wire than the other frets"},
		[]string{"deepen the slot until the string lies on the zero fret", "press the zero fret down, seat and glue it", "dress it down and crown it"}, byFrets}
	lowZero = Remedy{"zero fret low", []string{"worn by the strings", "dressed too far", "fret 1 high"},
		[]string{"check fret 1", "replace the zero fret"}, byFrets}
	buzz = Remedy{"predicted buzz", []string{"a high fret or a low action", "too little relief", "nut slot low where it buzzes open"},
		[]string{"see which fret is touched and check its level", "relief within its limits", saddleUp}, byInspector}
	offPitch = Remedy{"off pitch", []string{"strings new or slipping", "rod turned since tuning", "climate"},
		[]string{"stretch the strings, tune, wait, tune again", "then measure everything again"}, byInspector}
)

// The defects that an inspector sees, hears or feels, and those that no limit is set on.
var (
	looseFret = Remedy{"loose fret", []string{"slot too wide for the tang", "board dried out since fretting", "end lifted by a knock"},
		[]string{"tap along the fret and measure it unloaded: pressed down it reads level", "press, clamp and glue", "refret with a wider tang; level only after"}, byFrets}
	sharpEnds = Remedy{"sharp ends", []string{"board shrunk in dry air", "ends not dressed"},
		[]string{"bring the neck to 45 to 50 % relative humidity first", "bevel and round the ends"}, byFrets}
	sCurve = Remedy{"S-curve", []string{"rod and strings act at different places of a slender neck", "rod tightened against a compressed neck", "frets near the nut with wide tangs"},
		[]string{"slacken the rod and see whether the shape goes", "level at strung shape where crowns allow", "heat press, or plane the board and refret"}, byRepairer}
	deadRod = Remedy{"rod dead", []string{"slack zone of a two-way rod", "nut stripped or rod broken", "rod at its end"},
		[]string{"turn through the slack zone a quarter at a time and measure", "stop when two steps move nothing", "replace the rod"}, byRepairer}
	reversedRod = Remedy{"rod goes the wrong way", []string{"reversed thread", "the other end of a double-acting rod", "neck still moving after the last step or in new climate"},
		[]string{"undo the last step, retune, measure again", "let the neck settle and measure again", "no further turn where it happens twice"}, byRepairer}
	noRod = Remedy{"relief without a rod", []string{"strings of more or less tension than planned", "board or neck moved with the climate"},
		[]string{"strings of lower tension where it bows forward, of higher where it bows back", "live with it", "fretwork at strung shape", "heat"}, byRepairer}
	looseRod = Remedy{"rod loose", []string{"left slack at assembly", "board shrunk about it"},
		[]string{"take it up until it just bears, then measure relief", "damp it where it rattles on"}, byInspector}
	stuckRod = Remedy{"rod stuck", []string{"nut bottomed out", "glue or rust in the thread", "washer crushing the wood"},
		[]string{"never force it", "back-clamp the neck with the strings slack, then turn", "replace the rod"}, byRepairer}
	bindingNut = Remedy{"nut binding", []string{"slot too narrow for the string", "slot's floor rough or its angle wrong"},
		[]string{"widen and polish the slot", "replace the nut"}, byInspector}
	saddleAtEnd = Remedy{"saddle at end of travel", []string{"neck angle wrong", "action worked for by the saddle instead of by relief"},
		[]string{"relief first", shimHeel, "another saddle"}, byRepairer}
	outOfTune = Remedy{"intonation", []string{"string worn or set wrong", "saddle not set back enough for the string", "nut slot high: frets 1 to 3 sharp", "action high"},
		[]string{"new strings, relief, nut and action first", "move the saddle back where the fretted note is sharp, forward where it is flat"}, byInspector}
	misplacedFret = Remedy{"fret position", []string{"slots cut to another scale or by steps that add up", "nut's front edge out of place"},
		[]string{"measure from the nut and from fret 12: an offset of all frets is the nut's", "move or replace the nut", "a new board, or scrap"}, byRepairer}
	lowCrown = Remedy{"crown too low", []string{"levelled too often", "metal taken off for a low neighbour"},
		[]string{"refret below 0.75 mm"}, byFrets}
	cosmetic = Remedy{"cosmetic", []string{"tool slip", "glue or solvent on the finish", "plunger marks on a soft board"},
		[]string{"clean and polish", "refinish", "concession by a named person"}, byRepairer}
)

// AllRemedies returns the remedies of every defect, each once: those that a characteristic shows, then those that only an
// inspector sees, hears or feels.
func AllRemedies() []Remedy {
	var all []Remedy
	for _, k := range order {
		for _, r := range [2]Remedy{k.Above, k.Below} {
			if r.Defect != "" && !slices.ContainsFunc(all, func(o Remedy) bool { return o.Defect == r.Defect }) {
				all = append(all, r)
			}
		}
	}
	return append(all, looseFret, sharpEnds, sCurve, highZero, lowZero, deadRod, looseRod, stuckRod, reversedRod, noRod, bindingNut, saddleAtEnd, outOfTune, misplacedFret, lowCrown, cosmetic)
}

// fitted is a remedy as the specification's neck has it: with a zero fret for a nut, a saddle of one piece, a neck that is set; and as whoever does
// all work themselves has it.
func (r Remedy) fitted(s *Spec) Remedy {
	n := &s.Neck
	if n.ZeroFret {
		switch r.Defect {
		case highNut.Defect:
			return highZero
		case lowNut.Defect:
			return lowZero
		}
	}
	r.Remedies = slices.Clone(r.Remedies)
	for i, words := range r.Remedies {
		switch {
		case words == slackBackBow:
			r.Remedies[i] = "if it is slack already" + s.byWhom(", the repairer's", "") + ": heat press, or plane the board and refret"
		case n.Joint == SetJoint && words == shimAtEnd:
			r.Remedies[i] = "the neck set anew at a steeper angle" + s.byWhom(" by a repairer", "") + " where the saddle is at its end"
		case n.Joint == SetJoint && words == shimHeel:
			r.Remedies[i] = "the neck set anew at a steeper angle"
		case n.BridgeKind() == OneSaddle && words == saddleDown:
			r.Remedies[i] = "take the saddle down from below"
		case n.BridgeKind() == OneSaddle && words == saddleUp:
			r.Remedies[i] = "a higher saddle, or a shim under it"
		}
	}
	return r
}

// Remedies that another joint or bridge, or whoever does all work, does otherwise.
const (
	slackBackBow = "if it is slack already, the repairer's: heat press, or plane the board and refret"

	saddleDown = "lower the saddle"
	saddleUp   = "raise the saddle"
	shimAtEnd  = "shim the heel where the saddle is at its end"
	shimHeel   = "shim the heel by 0.25 to 1.0 mm"
)

// rodless reports a result whose advice knows of no rod: what helps by turning one is not told.
func rodless(res *Result) bool {
	return slices.ContainsFunc(res.Advice, func(a Advice) bool { return slices.Contains(a.Defects, noRod.Defect) })
}

// RemedyFor returns what may lie behind a nonconforming characteristic and what helps; ok is false for one that conforms
// or has no remedy of its own.
func RemedyFor(c Characteristic) (r Remedy, ok bool) {
	if c.Zone != Nonconforming {
		return Remedy{}, false
	}
	k := kindOf(c.Name)
	r = k.Above
	if miss(&c) < 0 {
		r = k.Below
	}
	return r, r.Defect != ""
}

// Remedies returns, for a neck of the specification, the remedies of a result's nonconforming characteristics in the order of rework, then of the defects that
// the advice found besides, each once.
func Remedies(s *Spec, res *Result) []Remedy {
	var all []Remedy
	add := func(r Remedy) {
		r = r.fitted(s)
		if !slices.ContainsFunc(all, func(o Remedy) bool { return o.Defect == r.Defect }) {
			all = append(all, r)
		}
	}
	for _, step := range Steps() {
		for i := range res.Characteristics {
			c := res.Characteristics[i]
			if r, ok := RemedyFor(c); ok && kindOf(c.Name).Step == step && !(step == StepRod && rodless(res)) {
				add(r)
			}
		}
	}
	for i := range res.Advice {
		for _, r := range AllRemedies() {
			if slices.Contains(res.Advice[i].Defects, r.Defect) {
				add(r)
			}
		}
	}
	return all
}
