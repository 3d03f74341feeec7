package bench

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
	"sagitta/station/web/draw"
	"sagitta/station/web/site"
)

// tapButton is an answer to be tapped: a leaf, or a mark of a ruler.
type tapButton struct {
	To    string // where it is sent, and as what
	Field string
	Value string
	Front string // the leaf that goes in, or the one that stops where that alone is asked for; the mark
	Then  string // the next leaf, which does not go in; "" for a mark
	Near  bool   // it is among those that a small screen shows
	Main  bool   // it lies between the limits
	Pair  bool   // it says two leaves together
}

// mostTaps is how many answers a small screen shows, four rows of four: those around the limits, and that no leaf goes in. Others are typed there.
const mostTaps = 16

// byHand says that the point asked for is typed or tapped: no gauge with a line measures it, and it is not confirmed.
func byHand(s *bench.Snapshot) bool {
	if s.Next < 0 || s.Next >= len(s.Points) || s.Points[s.Next].Point.Kind == batch.PitchDeclared {
		return false
	}
	i := slices.IndexFunc(s.Gauges, func(g bench.GaugeLine) bool { return g.ID == s.Points[s.Next].GaugeID })
	return i < 0 || s.Gauges[i].ByEye
}

// askedOf says what the point asked for is measured with, or how it is entered.
func (v *benchView) askedOf(p routine.Point) {
	i := slices.IndexFunc(v.Gauges, func(g bench.GaugeLine) bool { return g.ID == p.GaugeID })
	v.Typed = byHand(v.Snapshot)
	switch {
	case v.Declare:
		v.AskedOf = "Tune every string to pitch: tension is what bends a neck. Then confirm."
		return
	case i < 0:
		v.AskedOf = "type the value and press Enter"
	case v.Gauges[i].Locked:
		v.AskedOf = tell.Upper(v.Gauges[i].Words) + ". " + v.Gauges[i].ToDo
	default:
		v.AskedOf = "with the " + v.Gauges[i].Name + ": " + v.Gauges[i].How
	}
	if !v.Typed {
		return
	}
	v.ByHand = draw.Hold(p.Point, v.Spec).SVG
	switch {
	case v.NeedsFeet:
		v.TypedHint = "Once for this beam: a fret, like fret 1, or a length from the nut, in " + v.Unit.String() + " unless it says otherwise."
	case v.Leaves != nil:
		v.Taps = v.leafTaps()
		v.TypedHint, v.TypedMore = v.leafHint()
	case p.Point.Kind == batch.Pitch:
		v.TypedHint = "Written like -3 (cents from the target) or 82.4 Hz."
	case p.Point.Kind == batch.ActionHeight || p.Point.Kind == batch.NutHeight:
		v.Taps = v.rulerTaps(p.Point)
		v.TypedHint, v.TypedMore = v.rulerHint(), "Typed like 1.8, 7/64 or 0.07 in; with its own uncertainty like 1.85 ± 0.04."
	default:
		v.TypedHint = `Written like 0.25, .25, 0,25, 0.010", 10 thou, 7/64 or 0.5 in; without a unit it is in ` + v.Unit.String() + "."
	}
}

// leafHint says what a tap tells, and what is typed instead.
func (v *benchView) leafHint() (front, more string) {
	stack := v.Unit.Length(2*batch.StackU, v.Unit.Digits(0.01), false)
	switch {
	case v.Leaves.Stops:
		return "Tap the thinnest leaf that does not go in.", ""
	case v.Leaves.Finer:
		return "Tap the thickest that goes in of what lies between: by that the next one does not. Two leaves together add ± " + stack + ".", ""
	}
	return "Tap the thickest leaf that goes in: by that the next one does not.",
		"If you did not try the next one, type the leaf instead, or two together with a +, which adds ± " + stack + "."
}

// rulerHint says how sure a ruler is.
func (v *benchView) rulerHint() string {
	if v.Unit == unit.Inch {
		return "Tap or type what the ruler shows. By ruler a 64th is good to ± " + v.Unit.Length(2*batch.SixtyFourthU, 3, false) + ": that goes with the value."
	}
	return "Tap or type what the ruler shows. By ruler it is good to ± " + v.Unit.Length(2*batch.RulerU, 1, false) + ": that goes with the value."
}

// leafTaps are the leaves to be tapped, in the page's unit.
func (v *benchView) leafTaps() []tapButton {
	l := v.Leaves
	if v.Question != nil || v.Check != nil {
		return nil
	}
	buttons := make([]tapButton, len(l.Rungs))
	for i, r := range l.Rungs {
		k := tapButton{To: "leaf", Field: "rung", Value: strconv.Itoa(i), Main: v.between(r), Pair: len(r.Passes) > 1 || len(r.Stops) > 1}
		switch {
		case l.Stops:
			k.Front, k.Then = v.leaves(r.Stops), "stops"
		case len(r.Passes) == 0:
			k.Front, k.Then = "none", v.leaves(r.Stops)+" stops"
		case len(r.Stops) == 0:
			k.Front, k.Then = v.leaves(r.Passes), "all go in"
		default:
			k.Front, k.Then = v.leaves(r.Passes), v.leaves(r.Stops)+" stops"
		}
		buttons[i] = k
	}
	near(buttons)
	if len(buttons) > mostTaps && !buttons[0].Near && buttons[0].Front == "none" { // a back-bow is found by it
		last := len(buttons) - 1
		for !buttons[last].Near {
			last--
		}
		buttons[0].Near, buttons[last].Near = true, false
	}
	return buttons
}

// near marks what a small screen shows: from a few below those between the limits on.
func near(buttons []tapButton) {
	first := slices.IndexFunc(buttons, func(k tapButton) bool { return k.Main })
	if first < 0 {
		first = len(buttons)
	}
	first = max(0, min(first-mostTaps/3, len(buttons)-mostTaps))
	for i := range buttons {
		buttons[i].Near = i >= first && i < first+mostTaps
	}
}

// rulerTaps are the marks of a ruler about the limits of a string's height: tenths of a millimetre, or sixty-fourths of an inch.
func (v *benchView) rulerTaps(p batch.Point) []tapButton {
	if v.Question != nil || v.Check != nil {
		return nil
	}
	step, most := 0.1, 32
	if v.Unit == unit.Inch {
		step, most = unit.SixtyFourth.To(1), mostTaps
	}
	lower, upper := v.heightLimits(p)
	first := 1
	switch {
	case lower != nil:
		first = int(math.Ceil(*lower/step-1e-9)) - most/4
	case upper != nil:
		first = int(math.Floor(*upper/step+1e-9)) - most/2
	case p.Kind == batch.ActionHeight:
		first = int(math.Round(1 / step)) // mm, a low action
	}
	first = max(first, 1)
	buttons := make([]tapButton, most)
	for i := range buttons {
		mm := float64(first+i) * step
		k := tapButton{To: "entry", Field: "text", Value: fmt.Sprintf("%d/64 in", first+i), Front: sixtyFourths(first + i)}
		if v.Unit != unit.Inch {
			k.Front = strconv.FormatFloat(mm, 'f', 1, 64)
			k.Value = k.Front + " mm"
		}
		k.Main = (lower != nil || upper != nil) && (lower == nil || mm >= *lower-1e-9) && (upper == nil || mm <= *upper+1e-9)
		buttons[i] = k
	}
	near(buttons)
	return buttons
}

// sixtyFourths writes so many as they stand on a ruler: 5/64, 3/32, 1 1/8.
func sixtyFourths(n int) string {
	whole, over, of := n/64, n%64, 64
	for over > 0 && over%2 == 0 {
		over, of = over/2, of/2
	}
	switch {
	case over == 0:
		return strconv.Itoa(whole)
	case whole > 0:
		return fmt.Sprintf("%d %d/%d", whole, over, of)
	}
	return fmt.Sprintf("%d/%d", over, of)
}

// heightLimits are the limits of a string's height, nil where there are none.
func (v *benchView) heightLimits(p batch.Point) (lower, upper *float64) {
	if v.Result == nil {
		return nil, nil
	}
	for _, c := range v.Result.Characteristics {
		of := c.Name == inspect.NutHeight && p.Kind == batch.NutHeight || c.Name == inspect.Action && p.Kind == batch.ActionHeight && c.Fret == p.Fret && c.HeldFret == p.HeldFret
		if of && c.String == p.String {
			return c.Lower, c.Upper
		}
	}
	return nil, nil
}

// between says that a rung would lie between the limits of relief at the point asked for.
func (v *benchView) between(r bench.Rung) bool {
	if v.Next < 0 || len(r.Passes) == 0 || len(r.Stops) == 0 {
		return false
	}
	lower, upper := v.reliefLimits(v.Points[v.Next].Point.Track)
	passes, stops := bench.Thickness(r.Passes), bench.Thickness(r.Stops)
	return inspect.LeafZone(&passes, &stops, lower, upper) == inspect.Conforming
}

// reliefLimits are the limits of a track's relief, nil where there are none.
func (v *benchView) reliefLimits(track string) (lower, upper *float64) {
	if v.Result == nil {
		return nil, nil
	}
	for _, c := range v.Result.Characteristics {
		if c.Name == inspect.Relief && c.Track == track {
			return c.Lower, c.Upper
		}
	}
	return nil, nil
}

// leaves writes a leaf, or two together, in the page's unit: thousandths where it is the inch.
func (v *benchView) leaves(mm []float64) string {
	words := make([]string, len(mm))
	for i, leaf := range mm {
		words[i] = leafText(leaf, v.Unit)
	}
	return strings.Join(words, "+")
}

// leafText is a leaf's thickness as it is written on it, without the zero before the point of an inch.
func leafText(mm float64, lengths unit.Unit) string {
	text := tell.Leaf(mm, lengths)
	if lengths == unit.Inch {
		return strings.TrimPrefix(text, "0")
	}
	return text
}

// feetOf reads where a beam's feet stand at the point asked for: a fret, or a length from the nut in the page's unit.
func feetOf(c *site.Request, snap *bench.Snapshot) (at bench.Feet, err error) {
	if snap.Batch == nil || snap.Next < 0 {
		return at, batch.Conflict.Errorf("no beam is asked for now: where its feet stand is entered on its page under Gauges")
	}
	spec := snap.Batch.Spec.Spec.WithDefaults()
	line := spec.Fan().Track(spec, snap.Points[snap.Next].Point.Track)
	for _, f := range []struct {
		name string
		to   *float64
	}{{"first", &at.First}, {"reads", &at.Reads}, {"second", &at.Second}} {
		if *f.to, err = bench.PlaceOf(strings.TrimSpace(c.PostForm(f.name)), line, c.Unit()); err != nil {
			return at, err
		}
	}
	return at, nil
}

// afterTurn says what is asked for after a turn of the rod, and why; "" elsewhere.
func afterTurn(s *bench.Snapshot) string {
	if !s.AfterRod || s.Next < 0 || s.Next >= len(s.Points) {
		return ""
	}
	kind := s.Points[s.Next].Point.Kind
	switch kind {
	case batch.NutHeight, batch.ActionHeight:
		return "Relief is right. The rod moved the strings too: once more."
	}
	return tell.ReliefFirst(s.Following, kind != batch.PitchDeclared && kind != batch.Pitch)
}

// ReliefNext says what is asked for next where nothing but the rod was turned; "" elsewhere.
func (v *benchView) ReliefNext() string {
	if !routine.ReliefFirst(v.Spec, v.Rework) {
		return ""
	}
	return tell.AfterRod(routine.StringsAsked(v.Spec))
}

// Work names a kind of work to choose: a repairer's is one's own where whoever measures does all.
func (v *benchView) Work(what string) string {
	if what == inspect.StepRepairer && v.Spec.Routine.Repairs == inspect.Myself {
		return "more than a set-up"
	}
	return what
}
