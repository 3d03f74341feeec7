// Package draw makes the drawings that are geometry: the neck from above, its profile, the clearance map, the states' shapes.
// They are SVG, the same on the bench, on a neck's page and on paper.
package draw

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
	"sagitta/station/web/show"
)

// The board and the profile share this x axis: drawing units from the nut, of slanted ones its near end, to a little beyond the last
// fret.
const (
	drawWidth = 1200.0
	drawLeft  = 56.0
	drawRight = 24.0
)

// xAxis maps mm along the neck to drawing units; From is what stands at the left end.
type xAxis struct{ Scale, From float64 }

func XAxisOf(spec *inspect.Spec) xAxis { return outlineOf(spec).axis() }

func (a xAxis) At(mm float64) float64 { return drawLeft + (mm-a.From)*a.Scale }

// outline is a board from above: its edges a little outside the outer strings, whose places are those of the frets' ends.
type outline struct {
	fan         *inspect.Fan
	low, high   inspect.Line // the bass and the treble edge
	lowX, highX float64      // where they end, beyond the last fret
	wider       float64      // how many times as wide as to scale it is drawn
	room        float64      // left free below it, drawing units
	numbers     []int        // frets whose number is written beside those that always are
}

// margin is how far the board reaches beyond the outer strings, and pastLast how far beyond the last fret, mm.
const (
	margin   = 3.5
	pastLast = 8.0
)

// outlineOf is the outline of a specification's board, as far on one side of the centre line as on the other.
func outlineOf(spec *inspect.Spec) outline {
	var nut, saddle float64
	for _, s := range spec.Strings {
		nut, saddle = max(nut, math.Abs(s.YNutMM)), max(saddle, math.Abs(s.YSaddleMM))
	}
	fan, last := spec.Fan(), spec.Neck.Frets
	o := outline{fan: fan, low: fan.Line(-nut-margin, -saddle-margin), high: fan.Line(nut+margin, saddle+margin), wider: 1}
	o.lowX, o.highX = o.low.At(last)+pastLast, o.high.At(last)+pastLast
	return o
}

// axis is the x axis of a board.
func (o outline) axis() xAxis {
	from := min(o.low.Nut, o.high.Nut)
	return xAxis{Scale: (drawWidth - drawLeft - drawRight) / (max(o.lowX, o.highX) - from + 4), From: from}
}

// half is the greatest half of the board's width, mm.
func (o outline) half() float64 { return max(o.high.YAt(o.highX), -o.low.YAt(o.lowX)) }

// Board draws the neck to scale from above: outline, frets at their true places, strings, tracks dotted, and every
// point of the routine as an open ring that fills when taken and then carries its state's shape. The point asked for is
// ringed twice.
func Board(spec *inspect.Spec, points []routine.Point, next int, lengths unit.Unit, handed string) template.HTML {
	o := outlineOf(spec)
	a := o.axis()
	var b strings.Builder
	y := o.neck(&b, spec, handed, boardWords(points, next))
	for i, p := range points {
		if p.Drawn {
			pointSVG(&b, p, a.pointX(p), y(p.YMM), i == next)
		}
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// neck begins a board's drawing with what was built: outline, nut, frets, strings and tracks; it returns where mm across the board are
// drawn. words say what the drawing shows.
func (o outline) neck(b *strings.Builder, spec *inspect.Spec, handed, words string) (y func(mm float64) float64) {
	a := o.axis()
	half := o.half()*a.Scale*o.wider + 8
	mid := half
	below := 1.0 // the treble side, positive y, is drawn below; a left-handed neck lies the other way up
	if handed == "left" {
		below = -1
	}
	y = func(mm float64) float64 { return mid + below*mm*a.Scale*o.wider }
	fmt.Fprintf(b, `<svg class="board" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">`, drawWidth, 2*half+18+o.room, template.HTMLEscapeString(words))
	fmt.Fprintf(b, `<path class="wood" d="M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fZ"/>`, a.At(o.low.Nut), y(o.low.YNutMM), a.At(o.lowX), y(o.low.YAt(o.lowX)),
		a.At(o.highX), y(o.high.YAt(o.highX)), a.At(o.high.Nut), y(o.high.YNutMM))
	across := func(class string, xLow, yLow, xHigh, yHigh float64) {
		fmt.Fprintf(b, `<path class="%s" d="M%.1f %.1fL%.1f %.1f"/>`, class, a.At(xLow), y(yLow), a.At(xHigh), y(yHigh))
	}
	across("nut", o.low.Nut, o.low.YNutMM, o.high.Nut, o.high.YNutMM)
	under := &o.high // the edge that is drawn below, with the frets' numbers
	if below < 0 {
		under = &o.low
	}
	for n := 1; n <= spec.Neck.Frets; n++ {
		class := "fret"
		if n == spec.Neck.JointFret {
			class = "fret joint"
		}
		across(class, o.low.At(n), o.low.Y[n-1], o.high.At(n), o.high.Y[n-1])
		if numbered(spec, n) || slices.Contains(o.numbers, n) {
			fmt.Fprintf(b, `<text class="tick%s" x="%.1f" y="%.1f" text-anchor="middle">%d</text>`, show.Pick(n == 11, " minor", ""), a.At(under.At(n)), 2*half+14, n)
		}
	}
	along := func(yNut, ySaddle float64) string {
		l := o.fan.Line(yNut, ySaddle)
		end := l.At(spec.Neck.Frets) + pastLast
		return fmt.Sprintf("M%.1f %.1fL%.1f %.1f", a.At(l.Nut), y(yNut), a.At(end), y(l.YAt(end)))
	}
	for _, s := range spec.Strings {
		fmt.Fprintf(b, `<path class="string" d="%s" stroke-width="%.2f"/>`, along(s.YNutMM, s.YSaddleMM), 0.6+s.DiameterMM)
	}
	for _, t := range spec.TracksOf() {
		fmt.Fprintf(b, `<path class="track" d="%s"/>`, along(t.YNutMM, t.YSaddleMM))
	}
	first, second := "bass", "treble"
	if handed == "left" {
		first, second = second, first
	}
	fmt.Fprintf(b, `<text class="side" x="2" y="%.1f">%s</text><text class="side" x="2" y="%.1f">%s</text>`,
		mid-o.high.YNutMM*a.Scale*o.wider-4, first, mid+o.high.YNutMM*a.Scale*o.wider+19, second)
	return y
}

// numbered says whether a fret's number is always written.
func numbered(spec *inspect.Spec, n int) bool {
	return n == 1 || n == spec.Neck.Frets || n == spec.Neck.JointFret || n%2 == 1 && n < 13 || n == 12
}

// Tall is the height of a board's drawing and its profile's together, in their units.
func Tall(spec *inspect.Spec) int {
	o := outlineOf(spec)
	return int(math.Ceil(2*(o.half()*o.axis().Scale+8) + 18 + profileHeight))
}

// pointX is where a point is drawn along the neck: heights and pitch beside the crown, not on it.
func (a xAxis) pointX(p routine.Point) float64 {
	switch p.Point.Kind {
	case batch.NutHeight, batch.ActionHeight:
		return a.At(p.XMM) + 13
	case batch.Pitch:
		return a.At(p.XMM) - 12
	}
	return a.At(p.XMM)
}

// nearWidth is how much of the board, in drawing units, a close-up shows: some seven frets at the middle of the neck.
const nearWidth = 400.0

// Near is the part of the board's drawing around the point asked for: x, y, width and height of a view box; "" where nothing is asked.
func Near(spec *inspect.Spec, points []routine.Point, next int) string {
	if next < 0 || next >= len(points) || !points[next].Drawn {
		return ""
	}
	x := XAxisOf(spec).pointX(points[next]) - nearWidth/2
	x = math.Max(0, math.Min(drawWidth-nearWidth, x))
	return fmt.Sprintf("%.0f 0 %.0f", x, nearWidth)
}

// pointSVG draws one point. It is a button for the pointer; by keyboard points are chosen from the list beside it.
func pointSVG(b *strings.Builder, p routine.Point, x, y float64, next bool) {
	class := "point open"
	switch {
	case p.Taken:
		class = "point taken " + stateClass(pointState(p))
		if isPlain(p) {
			class = "point taken plainly"
		}
	case p.Skipped:
		class = "point skipped"
	}
	fmt.Fprintf(b, `<g class="%s" data-key="%s"><title>%s</title>`, class, template.HTMLEscapeString(p.Key), template.HTMLEscapeString(p.Words))
	if next {
		fmt.Fprintf(b, `<circle class="next" cx="%.1f" cy="%.1f" r="13"/>`, x, y)
	}
	fmt.Fprintf(b, `<circle class="ring" cx="%.1f" cy="%.1f" r="6.5"/>`, x, y)
	switch {
	case p.Taken && !isPlain(p):
		fmt.Fprintf(b, `<g class="mark" transform="translate(%.1f %.1f) scale(.42)">%s</g>`, x-5, y-5, shapePath(pointState(p)))
	case p.Skipped:
		fmt.Fprintf(b, `<g class="mark" transform="translate(%.1f %.1f) scale(.42)">%s</g>`, x-5, y-5, shapePath("not measured"))
	}
	b.WriteString(`</g>`)
}

// isPlain says that a taken point has no state of its own yet: nothing rests on it alone, or its neighbours are missing.
func isPlain(p routine.Point) bool {
	return !p.InDoubt && (p.Zone == inspect.NoLimit || p.Zone == inspect.NotMeasured)
}

// pointState is the state whose shape a taken point carries: doubt goes before what was judged.
func pointState(p routine.Point) string { return show.Pick(p.InDoubt, "in doubt", string(p.Zone)) }

// boardWords says for a screen reader what the drawing shows.
func boardWords(points []routine.Point, next int) string {
	done := 0
	for _, p := range points {
		if p.Taken || p.Skipped {
			done++
		}
	}
	words := fmt.Sprintf("The neck from above, the nut at the left: %d of %d points are done.", done, len(points))
	if next >= 0 && next < len(points) {
		words += " Asked for: " + points[next].Words + "."
	}
	return words
}
