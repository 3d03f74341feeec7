package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/inspect/unit"
)

// Name returns a characteristic's name for people: "fall-away" for "fall_away". An unknown one is returned as it is.
func Name(characteristic string) string {
	if k, ok := kinds[characteristic]; ok {
		return k.Words
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
// fret 7 over frets 1–17", "action, string 6, fret 12, open".
func Words(s *Spec, c Characteristic) string {
	words := []string{Name(c.Name)}
	track := c.Track
	if track == each {
		words, track = append(words, "no track measured"), ""
	}
	k := kindOf(c.Name)
	if place := Place(track, c.String, c.Fret); place != "" {
		words = append(words, place)
	}
	if k.HeldFret {
		words = append(words, Pressed(c.HeldFret))
	}
	name := strings.Join(words, ", ")
	if k.Datum {
		a, b := datumOf(s, &c)
		name += fmt.Sprintf(" over frets %d–%d", a, b)
	}
	switch c.Method {
	case ByBeam:
		name += " (converted from the beam)"
	case ByLeaves:
		name += " (leaves)"
	}
	return name
}

// Place names a place on a neck, side or string first, then the fret: "bass side, fret 7", "string 6, fret 12". An empty track
// and a 0 are left out.
func Place(track string, number, fret int) string {
	var words []string
	if track != "" {
		words = append(words, Side(track))
	}
	if number > 0 {
		words = append(words, "string "+strconv.Itoa(number))
	}
	if fret > 0 {
		words = append(words, "fret "+strconv.Itoa(fret))
	}
	return strings.Join(words, ", ")
}

// Pressed says how a string is held: "open", "pressed at fret 3".
func Pressed(fret int) string {
	if fret == 0 {
		return "open"
	}
	return "pressed at fret " + strconv.Itoa(fret)
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
	unit := " turn"
	if math.Abs(turns) > 1 {
		unit = " turns"
	}
	sixteenths := int(math.Round(turns * 16))
	if math.Abs(turns*16-float64(sixteenths)) > 1e-9 {
		return strconv.FormatFloat(turns, 'g', 3, 64) + unit
	}
	below := 16
	for sixteenths%2 == 0 && below > 1 && sixteenths != 0 {
		sixteenths, below = sixteenths/2, below/2
	}
	switch {
	case sixteenths == 0:
		return "no turn"
	case below == 1:
		return strconv.Itoa(sixteenths) + unit
	}
	return fmt.Sprintf("%d/%d", sixteenths, below) + unit
}

// FailingWords says what is wrong with a nonconforming value, lengths in the given unit: "relief, bass side, fret 7 over frets
// 1–17 is +0.47 mm, above 0.36 mm"; of a crown among its neighbours as a worker sees it: "fret 9, bass side, stands 0.08 mm
// high (limit 0.04 mm)".
func FailingWords(s *Spec, c Characteristic, lengths unit.Unit) string {
	k, r, in := kindOf(c.Name), c.Rounded(s.Uncertainty.ResolutionMM, lengths.MM()), c.Unit
	if in == "mm" {
		in = lengths.String()
	}
	beyond := map[int]*float64{1: c.Upper, -1: c.Lower}[miss(&c)]
	if k.Stands && c.Value != nil && beyond != nil && *c.Value**beyond >= 0 {
		way := "high"
		if *c.Value < 0 {
			way = "low"
		}
		return fmt.Sprintf("fret %d, %s, stands %s %s %s (limit %s %s)", c.Fret, Side(c.Track), r.Value(math.Abs(*c.Value), false), in, way, r.Limit(math.Abs(*beyond)), in)
	}
	words := Words(s, c) + " is "
	switch {
	case c.Value != nil:
		words += r.Value(*c.Value, k.Signed)
	case c.IntervalMM != nil && c.IntervalMM[0] != nil:
		words += "more than " + r.Value(*c.IntervalMM[0], k.Signed)
	case c.IntervalMM != nil && c.IntervalMM[1] != nil:
		words += "less than " + r.Value(*c.IntervalMM[1], k.Signed)
	}
	words += " " + in
	switch miss(&c) {
	case 1:
		words += ", above " + r.Limit(*c.Upper) + " " + in
	case -1:
		words += ", below " + r.Limit(*c.Lower) + " " + in
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
	case c.Lower != nil && low != nil && *low <= *c.Lower && (*low < *c.Lower || c.Method == ByLeaves):
		return -1
	}
	return 0
}

// StepWords says what is done in a step, and of a later one that it waits: "set the action, after the steps before it:
// measure again first".
func StepWords(a Advice) string {
	words := a.What
	if s, ok := stepOf(a.What); ok {
		words = cmp.Or(a.Do, s.verb)
	}
	if a.Waits {
		words += ", after the steps before it: measure again first"
	}
	return words
}

// AdviceWords says one step of rework, lengths to the step of the specification's gauge: "turn the truss rod: tighten 1/4
// turn; mean relief then 0.33 mm (0.27 to 0.39)". Its reason is the advice's Why. The amounts of a step that waits are said to
// be worked out now.
func AdviceWords(s *Spec, a Advice) string {
	words, lead := StepWords(a), ": "
	if a.Waits {
		lead = "; worked out now: "
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
	items := slices.SortedStableFunc(slices.Values(a.Items), func(x, y AdviceItem) int { return y.String - x.String }) // bass to treble
	for i := range items {
		words += map[bool]string{true: lead, false: "; "}[i == 0] + s.itemWords(a.What, &items[i])
	}
	return words + HarmWords(a)
}

// HarmWords says what a step is predicted to take out of its limits that conforms before it, as a part of the step's own sentence;
// "" for nothing.
func HarmWords(a Advice) string {
	if a.Harm == "" {
		return ""
	}
	return "; takes out of limits what conforms before it: " + a.Harm
}

// BridgeEnd says how far one end of a bridge that carries all strings moves: "bass end down 0.80 mm"; length writes a length.
func BridgeEnd(item *AdviceItem, length func(mm float64) string) string {
	switch v := *item.AmountMM; {
	case v < 0:
		return item.Track + " end down " + length(-v)
	case v > 0:
		return item.Track + " end up " + length(v)
	}
	return item.Track + " end as it is"
}

// itemWords says one place to work at.
func (s *Spec) itemWords(what string, item *AdviceItem) string {
	place := Place(item.Track, item.String, item.Fret)
	if item.String > 0 {
		place = Place("", item.String, 0)
	}
	if item.AmountMM != nil {
		switch v := *item.AmountMM; {
		case what == StepAction && item.Track != "":
			place = BridgeEnd(item, s.length)
		case what == StepAction && v < 0:
			place += " saddle down " + s.length(-v)
		case what == StepAction:
			place += " saddle up " + s.length(v)
		case what == StepLevel:
			place += " press it down and seat it; what still stands high, take off " + s.length(v)
		case what == StepNut:
			place += " take off " + s.length(v) + " as measured over fret 1"
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
