package inspect

// Remedy is what may lie behind a defect and what helps; common practice, no source.
type Remedy struct {
	Defect   string   // as an inspector would name it
	Causes   []string // likely ones, most likely first
	Remedies []string // mildest first
	Who      string   // who may do it: "bench", "fret bench" or "repairer"
}

// Who may do a remedy.
const (
	byBench    = "bench"
	byFrets    = "fret bench"
	byRepairer = "repairer"
)

// The defects.
var (
	overBow = Remedy{"over-bow", []string{"rod too slack for these strings", "heavier strings or higher tuning than planned", "climate since the last set-up", "rod at its end"},
		[]string{"tighten the rod in steps of at most a quarter turn", "check the string set and the pitch", "let the neck settle and measure again"}, byBench}
	backBow = Remedy{"back-bow", []string{"rod too tight", "lighter strings or lower tuning than planned", "tangs too wide for their slots", "climate since the last set-up"},
		[]string{"loosen the rod in steps of at most a quarter turn", "if it is slack already: heat press, or plane the board and refret"}, byBench}
	uneven = Remedy{"sides bend differently", []string{"twist", "heavier strings on one side", "one side of the board reworked"},
		[]string{"compare with twist and level first", "even out by fret level where the difference is small"}, byFrets}
	highFret = Remedy{"high fret", []string{"end or middle not seated", "glue under the fret", "its neighbours worn"},
		[]string{"press it down and see whether the reading falls: then reseat and glue", "spot level, then crown and polish"}, byFrets}
	lowFret = Remedy{"low fret", []string{"worn or dressed too far", "its neighbours are high", "slot too deep or wood torn"},
		[]string{"look for high neighbours first", "reseat with glue", "replace the fret"}, byFrets}
	unlevel = Remedy{"frets not level", []string{"several frets not seated", "board not straight when fretted", "level done without its load"},
		[]string{"spot level the highest", "level all frets at strung shape, crown and polish", "plane the board and refret"}, byFrets}
	humped = Remedy{"hump at the joint", []string{"body end of the board swollen or lifted", "joint tightened on dirt", "tongue rises over the body"},
		[]string{"check the joint and its gap", "dress the frets over the joint where crowns allow", "plane the board there and refret", "heat press"}, byRepairer}
	tongue = Remedy{"tongue rises or falls away too far", []string{"body end of the board follows the body", "frets over the body not dressed"},
		[]string{"dress the frets over the body", "plane and refret the body end"}, byFrets}
	twisted = Remedy{"twist", []string{"wood moved after machining", "uneven string pull", "held crooked while glued or pressed"},
		[]string{"measure again in the playing position", "heat press", "plane the board and refret", "scrap"}, byRepairer}
	wrongRadius = Remedy{"board radius", []string{"levelled with the wrong block", "tracks not where the specification has them"},
		[]string{"check the tracks' places", "level with a block of the board's radius", "plane the board and refret"}, byFrets}
	highAction = Remedy{"action too high", []string{"too much relief", "saddle high", "nut high", "neck angle"},
		[]string{"relief first, then the nut", "lower the saddle", "shim the heel where the saddle is at its end"}, byBench}
	lowAction = Remedy{"action too low", []string{"too little relief", "saddle low", "nut slots cut too deep"},
		[]string{"relief first, then the nut", "raise the saddle"}, byBench}
	highNut = Remedy{"nut slot high", []string{"slot not cut to depth", "string binds in its slot", "thicker strings than planned"},
		[]string{"see that the string lies on the slot's floor", "file the slot a little at a time"}, byBench}
	lowNut = Remedy{"nut slot low", []string{"slot filed too deep", "fret 1 high"},
		[]string{"check fret 1", "fill and recut the slot", "shim or replace the nut"}, byBench}
	buzz = Remedy{"predicted buzz", []string{"a high fret or a low action", "too little relief", "nut slot low where it buzzes open"},
		[]string{"see which fret is touched and check its level", "relief within its limits", "raise the saddle"}, byBench}
	offPitch = Remedy{"off pitch", []string{"strings new or slipping", "rod turned since tuning", "climate"},
		[]string{"stretch the strings, tune, wait, tune again", "then measure everything again"}, byBench}
)

// RemedyFor returns what may lie behind a nonconforming characteristic and what helps; ok is false for one that conforms
// or has no remedy of its own.
func RemedyFor(c Characteristic) (r Remedy, ok bool) {
	if c.Zone != Nonconforming {
		return Remedy{}, false
	}
	low := miss(&c) < 0
	choose := func(above, below Remedy) (Remedy, bool) {
		if low {
			return below, true
		}
		return above, true
	}
	switch c.Name {
	case relief, reliefMax:
		return choose(overBow, backBow)
	case sideDifference:
		return uneven, true
	case rocker, levelDeviation:
		return choose(highFret, lowFret)
	case straightness, flatness, levelZone:
		return unlevel, true
	case hump:
		return humped, true
	case fallAway:
		return tongue, true
	case twist:
		return twisted, true
	case boardRadius:
		return wrongRadius, true
	case action:
		return choose(highAction, lowAction)
	case nutHeight:
		return choose(highNut, lowNut)
	case clearance, margin:
		return buzz, true
	case pitch:
		return offPitch, true
	}
	return Remedy{}, false
}

// Remedies returns the remedies of a result's nonconforming characteristics, each once, in the order of rework.
func Remedies(res *Result) []Remedy {
	var all []Remedy
	seen := map[string]bool{}
	for _, step := range steps {
		for i := range res.Characteristics {
			c := res.Characteristics[i]
			if kinds[c.Name].step != step {
				continue
			}
			if r, ok := RemedyFor(c); ok && !seen[r.Defect] {
				seen[r.Defect] = true
				all = append(all, r)
			}
		}
	}
	return all
}
