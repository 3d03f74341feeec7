package bench

import (
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/bench/routine"
	"sagitta/station/web/site"
)

// leafButton is a leaf to be tapped.
type leafButton struct {
	Rung  int
	Front string // the leaf that goes in, or the one that stops where that alone is asked for
	Then  string // the next, which does not go in
	Near  bool   // it is among those that a small screen shows
	Main  bool   // it lies between the limits
}

// mostLeaves is how many leaves a small screen shows: those around the limits. Others are typed there.
const mostLeaves = 25 // five rows of five

// askedOf says what the point asked for is measured with, or how it is entered.
func (v *benchView) askedOf(p routine.Point) {
	var g *bench.GaugeLine
	for i := range v.Gauges {
		if v.Gauges[i].ID == p.GaugeID {
			g = &v.Gauges[i]
		}
	}
	v.Typed = !v.Declare && (g == nil || g.ByEye)
	switch {
	case v.Declare:
		v.AskedOf = "Tune every string to pitch: tension is what bends a neck. Then confirm."
		return
	case g == nil:
		v.AskedOf = "type the value and press Enter"
	case g.Locked:
		v.AskedOf = tell.Upper(g.Words) + ". " + g.ToDo
	default:
		v.AskedOf = "with the " + g.Name + ": " + g.How
	}
	switch {
	case !v.Typed:
	case v.NeedsFeet:
		v.TypedHint = "Once for this beam: a fret, like fret 1, or a length from the nut, in " + v.Unit.String() + " unless it says otherwise."
	case v.Leaves != nil:
		v.LeavesToTap, v.TypedHint = v.leafButtons(), v.leafHint()
	case p.Point.Kind == batch.Pitch:
		v.TypedHint = "Written like -3 (cents from the target) or 82.4 Hz."
	default:
		v.TypedHint = `Written like 0.25, .25, 0,25, 0.010", 10 thou, 7/64 or 0.5 in; without a unit it is in ` + v.Unit.String() + "."
	}
}

// leafHint says what a tap tells, and what is typed instead.
func (v *benchView) leafHint() string {
	stack := v.Unit.Length(2*batch.StackU, v.Unit.Digits(0.01), false)
	switch {
	case v.Leaves.Stops:
		return "Tap the thinnest leaf that does not go in."
	case v.Leaves.Finer:
		return "Tap the thickest that goes in of what lies between: by that the next one does not. Two leaves together add ± " + stack + "."
	}
	return "Tap the thickest leaf that goes in: by that the next one does not. If you did not try the next one, type the leaf instead, or two together with a +, which adds ± " + stack + "."
}

// leafButtons are the leaves to be tapped, in the page's unit.
func (v *benchView) leafButtons() []leafButton {
	l := v.Leaves
	if l == nil || v.Question != nil || v.Check != nil {
		return nil
	}
	buttons := make([]leafButton, len(l.Rungs))
	first := len(l.Rungs)
	for i, r := range l.Rungs {
		k := leafButton{Rung: i}
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
		k.Main = v.between(r)
		if k.Main && i < first {
			first = i
		}
		buttons[i] = k
	}
	first = max(0, min(first-mostLeaves/3, len(buttons)-mostLeaves))
	for i := range buttons {
		buttons[i].Near = i >= first && i < first+mostLeaves
	}
	return buttons
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
