package infer

import "slices"

// Doubt is something that the bytes leave open.
type Doubt string

// What the bytes may leave open.
const (
	DoubtUnit     Doubt = "unit"     // the frame names no unit, or a word of one letter
	DoubtPoint    Doubt = "point"    // digits without a point
	DoubtSign     Doubt = "sign"     // no minus was seen, nor a sign at all
	DoubtSame     Doubt = "same"     // every frame says the same
	DoubtChecksum Doubt = "checksum" // fits, but only one frame was seen
	DoubtField    Doubt = "field"    // the frame holds another number that may be the reading
	DoubtPause    Doubt = "pause"    // nothing but a pause ends a frame
	DoubtOpaque   Doubt = "opaque"   // some bytes change and are not understood
)

// doubtSentences say what each leaves open and what settles it.
var doubtSentences = map[Doubt]string{
	DoubtUnit:     "No word of the line names the unit for certain: compare with the gauge's display and choose the unit.",
	DoubtPoint:    "The line holds digits without a point: compare with the gauge's display and choose how many of them stand behind the point.",
	DoubtSign:     "No sign was seen: press once below the zero, so that the minus is known.",
	DoubtSame:     "Every press sent the same: press at another height, so that what changes is seen.",
	DoubtChecksum: "The last bytes fit as a checksum, but on one line only, which may be chance: press at another height.",
	DoubtField:    "The line holds more than one number: compare with the gauge's display which of them is the reading.",
	DoubtPause:    "Nothing but a pause ends a line: one that is damaged is not always seen.",
	DoubtOpaque:   "Some bytes change from press to press and are not understood: a line that is damaged there is not seen.",
}

// Sentence says what is left open, and what settles it.
func (d Doubt) Sentence() string { return doubtSentences[d] }

// Wrong tells whether a value may be wrong as long as the doubt stands; else only damage is harder to see.
func (d Doubt) Wrong() bool { return d != DoubtPause && d != DoubtOpaque }

// doubtsOf are the doubts that what a decoder reads leaves, whoever wrote it.
func doubtsOf(c Candidate) []Doubt {
	var doubts []Doubt
	add := func(d Doubt, is bool) {
		if is && !slices.Contains(doubts, d) {
			doubts = append(doubts, d)
		}
	}
	numbers := c.numbers()
	same, signs := len(numbers) > 1, false
	for _, e := range numbers {
		same = same && string(e.Raw) == string(numbers[0].Raw)
		add(DoubtUnit, e.Value.Unit == "" || doubtedUnit(e.Value.Unit))
		point := false
		for _, b := range []byte(e.Value.Digits) {
			signs = signs || b == '+' || b == '-'
			point = point || isPoint(b) || b == 'E' || b == 'e'
		}
		add(DoubtPoint, !point && c.Decoder.Family == "text")
	}
	add(DoubtSame, same)
	add(DoubtSign, !signs && c.Decoder.Family == "text")
	if c.Decoder.Family == "text" {
		add(DoubtPause, c.Decoder.Frame.End == nil && c.Decoder.Frame.Start == nil)
	}
	return doubts
}

// newly adds the doubts that are not there yet.
func newly(doubts []Doubt, more ...Doubt) []Doubt {
	for _, d := range more {
		if !slices.Contains(doubts, d) {
			doubts = append(doubts, d)
		}
	}
	return doubts
}
