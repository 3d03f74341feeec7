package inspect

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// names are the characteristics' names for people.
var names = map[string]string{
	relief: "relief", reliefMax: "largest relief", sideDifference: "relief, bass less treble side", straightness: "straightness",
	flatness: "flatness", levelZone: "level zone", levelDeviation: "level deviation", rocker: "rocker", hump: "hump",
	fallAway: "fall-away", twist: "twist", boardRadius: "board radius", action: "action", nutHeight: "nut height",
	clearance: "least clearance", margin: "clearance when plucked", pitch: "pitch", intonation: "intonation", fretPosition: "fret position",
}

// Name returns a characteristic's name for people: "fall-away" for "fall_away". An unknown one is returned as it is.
func Name(characteristic string) string {
	if n, ok := names[characteristic]; ok {
		return n
	}
	return characteristic
}

// Side names a track for people: "bass side", "centre".
func Side(track string) string {
	switch track {
	case bass, treble:
		return track + " side"
	case centre:
		return "centre"
	}
	return "track " + track
}

// Words names a characteristic in full for screens and sheets, a relief always with its datum pair: "relief, bass side,
// at fret 7 over frets 1–17", "action, string 6, over fret 12, open".
func Words(s *Spec, c Characteristic) string {
	words := []string{Name(c.Name)}
	switch c.Track {
	case "":
	case each:
		words = append(words, "no track measured")
	default:
		words = append(words, Side(c.Track))
	}
	if c.String > 0 {
		words = append(words, "string "+strconv.Itoa(c.String))
	}
	switch {
	case c.Name == action:
		held := "open"
		if c.HeldFret > 0 {
			held = fmt.Sprintf("held at fret %d", c.HeldFret)
		}
		words = append(words, fmt.Sprintf("over fret %d", c.Fret), held)
	case c.Name == nutHeight:
		words = append(words, "over fret 1", "open")
	case c.Fret > 0:
		words = append(words, fmt.Sprintf("at fret %d", c.Fret))
	}
	name := strings.Join(words, ", ")
	switch c.Name {
	case relief, reliefMax, sideDifference:
		a, b := datumOf(s, &c)
		name += fmt.Sprintf(" over frets %d–%d", a, b)
	}
	switch c.Method {
	case "beam":
		name += " (converted from the beam)"
	case "leaves":
		name += " (leaves)"
	}
	return name
}

// datumOf is the pair that a relief was taken over.
func datumOf(s *Spec, c *Characteristic) (a, b int) {
	if c.Datum != nil {
		return c.Datum[0], c.Datum[1]
	}
	given := *s
	given.fillDatum()
	return given.Datum.FirstFret, given.Datum.SecondFret
}

// length writes a length to the step of the specification's gauge; what is not nothing is never written as nothing.
func (s *Spec) length(v float64) string {
	d := stepDigits(s.Uncertainty.ResolutionMM)
	for v != 0 && roundTo(v, d) == 0 && d < finestDigits {
		d++
	}
	return Number(v, d, false) + " mm"
}

// TurnsWords writes turns of the rod in sixteenths: "3/16 turn"; as a decimal number where they are none.
func TurnsWords(turns float64) string {
	sixteenths := int(math.Round(turns * 16))
	if math.Abs(turns*16-float64(sixteenths)) > 1e-9 {
		return strconv.FormatFloat(turns, 'g', 3, 64) + " turn"
	}
	below := 16
	for sixteenths%2 == 0 && below > 1 && sixteenths != 0 {
		sixteenths, below = sixteenths/2, below/2
	}
	switch {
	case sixteenths == 0:
		return "no turn"
	case below == 1:
		return strconv.Itoa(sixteenths) + map[bool]string{true: " turn", false: " turns"}[sixteenths == 1]
	}
	return fmt.Sprintf("%d/%d turn", sixteenths, below)
}

// against says where a nonconforming value lies: "0.47 mm, above 0.36 mm".
func against(s *Spec, c *Characteristic) string {
	r := c.Rounded(s.Uncertainty.ResolutionMM, 1)
	var words string
	switch {
	case c.Value != nil:
		words = r.Value(*c.Value, false) + " " + c.Unit
	case c.IntervalMM != nil && c.IntervalMM[0] != nil:
		words = "more than " + r.Value(*c.IntervalMM[0], false) + " " + c.Unit
	case c.IntervalMM != nil && c.IntervalMM[1] != nil:
		words = "less than " + r.Value(*c.IntervalMM[1], false) + " " + c.Unit
	}
	switch miss(c) {
	case 1:
		words += ", above " + r.Limit(*c.Upper) + " " + c.Unit
	case -1:
		words += ", below " + r.Limit(*c.Lower) + " " + c.Unit
	}
	return words
}

// miss is 1 for a value above its upper limit, -1 below its lower, 0 otherwise.
func miss(c *Characteristic) int {
	low, high := c.Value, c.Value
	if c.Value == nil && c.IntervalMM != nil {
		low, high = c.IntervalMM[1], c.IntervalMM[0]
	}
	switch {
	case c.Upper != nil && high != nil && *high > *c.Upper:
		return 1
	case c.Lower != nil && low != nil && *low <= *c.Lower && (*low < *c.Lower || c.Method == "leaves"):
		return -1
	}
	return 0
}

// verbs say what is done in a step.
var verbs = map[string]string{
	stepRepairer: "hand the neck to a repairer", stepPitch: "tune the strings", stepRod: "turn the truss rod",
	stepLevel: "level the frets", stepNut: "see to the nut slots", stepAction: "set the action",
}

// StepWords says what is done in a step, and of a later one that it waits: "set the action, after the steps before it:
// measure again first".
func StepWords(a Advice) string {
	words, ok := verbs[a.What]
	if !ok {
		words = a.What
	}
	if a.Waits {
		words += ", after the steps before it: measure again first"
	}
	return words
}

// AdviceWords says one step of rework, lengths to the step of the specification's gauge: "turn the truss rod: tighten 1/4
// turn; mean relief then 0.33 mm (0.27 to 0.39)". Its reason is the advice's Why. The amounts of a step that waits are said to
// be reckoned now.
func AdviceWords(s *Spec, a Advice) string {
	words, lead := StepWords(a), ": "
	if a.Waits {
		lead = "; reckoned now: "
	}
	if a.Turns != nil {
		words += lead + strings.TrimSpace(a.Direction+" "+TurnsWords(*a.Turns))
		if a.PredictedReliefMM != nil && a.IntervalMM != nil {
			d := stepDigits(s.Uncertainty.ResolutionMM)
			words += fmt.Sprintf("; mean relief then %s mm (%s to %s)", Number(*a.PredictedReliefMM, d, false), Number(a.IntervalMM[0], d, false), Number(a.IntervalMM[1], d, false))
		}
	} else if a.Direction != "" {
		words += lead + a.Direction
	}
	for i := range a.Items {
		words += map[bool]string{true: lead, false: "; "}[i == 0] + s.itemWords(a.What, &a.Items[i])
	}
	return words
}

// itemWords says one place to work at.
func (s *Spec) itemWords(what string, item *AdviceItem) string {
	var words []string
	if item.String > 0 {
		words = append(words, "string "+strconv.Itoa(item.String))
	}
	if item.Track != "" {
		words = append(words, Side(item.Track))
	}
	if item.Fret > 0 && item.String == 0 {
		words = append(words, "fret "+strconv.Itoa(item.Fret))
	}
	place := strings.Join(words, ", ")
	if item.AmountMM != nil {
		switch v := *item.AmountMM; {
		case what == stepAction && v < 0:
			place += " saddle down " + s.length(-v)
		case what == stepAction:
			place += " saddle up " + s.length(v)
		default:
			place += " take off " + s.length(v)
		}
	}
	if item.Cents != nil {
		place += " " + Number(*item.Cents, digitsCents, true) + " cents"
	}
	if item.Note != "" {
		place += " (" + item.Note + ")"
	}
	return strings.TrimSpace(place)
}
