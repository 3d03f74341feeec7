// Package draw makes the drawings that are geometry: the neck from above, its profile, the clearance map, the states' shapes.
// They are SVG, the same on the bench, on a neck's page and on paper.
package draw

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench/routine"
	"sagitta/station/web/show"
)

// The board and the profile share this x axis: drawing units from the nut to a little beyond the last fret.
const (
	drawWidth = 1200.0
	drawLeft  = 56.0
	drawRight = 24.0
)

// xAxis maps mm from the nut to drawing units.
type xAxis struct{ Scale float64 }

func XAxisOf(spec *inspect.Spec) xAxis {
	last := inspect.FretX(spec.Neck.ScaleMM, spec.Neck.Frets)
	return xAxis{Scale: (drawWidth - drawLeft - drawRight) / (last + 12)}
}

func (a xAxis) At(mm float64) float64 { return drawLeft + mm*a.Scale }

// Board draws the neck to scale from above: outline, frets at their true places, strings, tracks dotted, and every
// point of the routine as an open ring that fills when taken and then carries its state's shape. The point asked for is
// ringed twice.
func Board(spec *inspect.Spec, points []routine.Point, next int, lengths unit.Unit, handed string) template.HTML {
	a := XAxisOf(spec)
	edge := func(x float64) float64 { return edgeAt(spec, x) }
	last := inspect.FretX(spec.Neck.ScaleMM, spec.Neck.Frets)
	end := last + pastLast
	half := edge(end)*a.Scale + 8
	mid := half
	below := 1.0 // the treble side, positive y, is drawn below; a left-handed neck lies the other way up
	if handed == "left" {
		below = -1
	}
	y := func(mm float64) float64 { return mid + below*mm*a.Scale }
	var b strings.Builder
	fmt.Fprintf(&b, `<svg class="board" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">`, drawWidth, 2*half+18, template.HTMLEscapeString(boardWords(points, next)))
	fmt.Fprintf(&b, `<path class="wood" d="M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fZ"/>`,
		a.At(0), y(-edge(0)), a.At(end), y(-edge(end)), a.At(end), y(edge(end)), a.At(0), y(edge(0)))
	fmt.Fprintf(&b, `<path class="nut" d="M%.1f %.1fV%.1f"/>`, a.At(0), y(-edge(0)), y(edge(0)))
	for n := 1; n <= spec.Neck.Frets; n++ {
		x := inspect.FretX(spec.Neck.ScaleMM, n)
		class := "fret"
		if n == spec.Neck.JointFret {
			class = "fret joint"
		}
		fmt.Fprintf(&b, `<path class="%s" d="M%.1f %.1fV%.1f"/>`, class, a.At(x), y(-edge(x)), y(edge(x)))
		if n == 1 || n == spec.Neck.Frets || n == spec.Neck.JointFret || n%2 == 1 && n < 13 || n == 12 {
			fmt.Fprintf(&b, `<text class="tick%s" x="%.1f" y="%.1f" text-anchor="middle">%d</text>`, show.Pick(n == 11, " minor", ""), a.At(x), 2*half+14, n)
		}
	}
	for _, s := range spec.Strings {
		fmt.Fprintf(&b, `<path class="string" d="M%.1f %.1fL%.1f %.1f" stroke-width="%.2f"/>`, a.At(0), y(s.YNutMM), a.At(end),
			y(inspect.TrackY(s.YNutMM, s.YSaddleMM, spec.Neck.ScaleMM, end)), 0.6+s.DiameterMM)
	}
	for _, t := range spec.TracksOf() {
		fmt.Fprintf(&b, `<path class="track" d="M%.1f %.1fL%.1f %.1f"/>`, a.At(0), y(t.YNutMM), a.At(end),
			y(inspect.TrackY(t.YNutMM, t.YSaddleMM, spec.Neck.ScaleMM, end)))
	}
	above, under := "bass", "treble"
	if handed == "left" {
		above, under = under, above
	}
	fmt.Fprintf(&b, `<text class="side" x="2" y="%.1f">%s</text><text class="side" x="2" y="%.1f">%s</text>`,
		mid-edge(0)*a.Scale-4, above, mid+edge(0)*a.Scale+19, under)
	for i, p := range points {
		if p.Drawn {
			pointSVG(&b, p, a.pointX(p), y(p.YMM), i == next)
		}
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// pastLast is how far the board is drawn beyond the last fret, mm.
const pastLast = 8.0

// edgeAt is half the board's width at x, mm.
func edgeAt(spec *inspect.Spec, x float64) float64 {
	most := 0.0
	for _, s := range spec.Strings {
		most = math.Max(most, math.Abs(inspect.TrackY(s.YNutMM, s.YSaddleMM, spec.Neck.ScaleMM, x)))
	}
	return most + 3.5
}

// Tall is the height of a board's drawing and its profile's together, in their units.
func Tall(spec *inspect.Spec) int {
	a := XAxisOf(spec)
	end := inspect.FretX(spec.Neck.ScaleMM, spec.Neck.Frets) + pastLast
	return int(math.Ceil(2*(edgeAt(spec, end)*a.Scale+8) + 18 + profileHeight))
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
