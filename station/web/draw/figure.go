package draw

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"unicode/utf8"

	"sagitta/inspect"
)

// Figure is a drawing that explains, with its words for who does not see it. Lengths along the neck are to scale; where heights are drawn
// taller than that, the drawing says how much.
type Figure struct {
	SVG   template.HTML
	Words string // sentences
}

// Measures draws how something is measured on the neck of a specification: a characteristic by its name, or a topic of help by its name;
// the zero Figure for an unknown name.
func Measures(name string, spec *inspect.Spec) Figure { return drawn(measures[name], spec) }

// Defines draws what a characteristic is, on the neck of a specification; the zero Figure for an unknown name.
func Defines(name string, spec *inspect.Spec) Figure { return drawn(defines[name], spec) }

// Example is the neck of figures that are not about a specification.
func Example() *inspect.Spec {
	s := &inspect.Spec{Name: "example", Revision: "A", Neck: inspect.NeckSpec{Rod: "double", ScaleMM: 648, Frets: 22, JointFret: 17, NutRadiusMM: 305, LastFretRadiusMM: 305}}
	for i := range 6 {
		s.Strings = append(s.Strings, inspect.String{Number: i + 1, YNutMM: 17.5 - 7*float64(i), YSaddleMM: 26 - 10.4*float64(i), DiameterMM: 0.3 + 0.15*float64(i), PlainString: true, PitchHz: 330 / (1 + float64(i)/2)})
	}
	return s.WithDefaults()
}

// A figure is so wide, in its own units, which are about pixels on a phone.
const (
	figureWidth = 400.0
	figureLeft  = 24.0
	figureRight = 16.0
)

// figure is a drawing while it is made.
type figure struct {
	strings.Builder
	height        float64
	words         string
	spec          *inspect.Spec
	board         outline   // from above
	frets         []float64 // places on the centre line, mm from the nut
	scale         float64   // units a mm, along the neck
	a, k, b, last int       // the datum's first fret, the relief's, its second, the last
}

// shows says that a neck has room for what figures show: frets on either side of the relief fret, beyond the joint and beyond fret 12.
func shows(spec *inspect.Spec) bool {
	d, last := spec.Datum, spec.Neck.Frets
	return last > inspect.DefaultActionFret && d.FirstFret >= 1 && d.FirstFret+3 <= d.ReliefFret && d.ReliefFret+3 <= d.SecondFret && d.SecondFret < last
}

// drawn makes a figure on a neck, on the example's where that has no room for it.
func drawn(make func(f *figure), spec *inspect.Spec) Figure {
	if make == nil {
		return Figure{}
	}
	if !shows(spec) {
		spec = Example()
	}
	f := &figure{spec: spec, board: outlineOf(spec), frets: spec.Fan().Centre.X, a: spec.Datum.FirstFret, k: spec.Datum.ReliefFret, b: spec.Datum.SecondFret, last: spec.Neck.Frets}
	f.wide(f.frets[len(f.frets)-1] + 10)
	make(f)
	return Figure{Words: f.words, SVG: template.HTML(fmt.Sprintf(`<svg class="explains" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">%s</svg>`,
		figureWidth, f.height, template.HTMLEscapeString(f.words), f.String()))}
}

// wide lets a figure reach from the nut to so many mm.
func (f *figure) wide(mm float64) { f.scale = (figureWidth - figureLeft - figureRight) / mm }

// at is where a place lies, mm from the nut; of is the same for a fret, 0 the nut.
func (f *figure) at(mm float64) float64 { return figureLeft + mm*f.scale }

func (f *figure) of(fret int) float64 {
	if fret == 0 {
		return f.at(0)
	}
	return f.at(f.frets[fret-1])
}

func (f *figure) path(class, format string, numbers ...any) {
	fmt.Fprintf(f, `<path class="%s" d="%s"/>`, class, fmt.Sprintf(format, numbers...))
}

func (f *figure) line(class string, x0, y0, x1, y1 float64) {
	f.path(class, "M%.1f %.1fL%.1f %.1f", x0, y0, x1, y1)
}

func (f *figure) box(class string, x, y, wide, high float64) {
	fmt.Fprintf(f, `<rect class="%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, class, x, y, wide, high)
}

func (f *figure) dot(class string, x, y, r float64) {
	fmt.Fprintf(f, `<circle class="%s" cx="%.1f" cy="%.1f" r="%.1f"/>`, class, x, y, r)
}

// letter is about how wide a letter is.
const letter = 6.9

// text writes words; anchor is start, middle or end. Where they would reach over the picture's edge they are moved inside.
func (f *figure) text(x, y float64, anchor, words string) {
	wide := letter * float64(utf8.RuneCountInString(words))
	before := map[string]float64{"start": 0, "middle": wide / 2, "end": wide}[anchor]
	x = math.Min(math.Max(x, before+2), figureWidth-2-wide+before)
	fmt.Fprintf(f, `<text x="%.1f" y="%.1f" text-anchor="%s">%s</text>`, x, y, anchor, template.HTMLEscapeString(words))
}

// fretName writes a fret's name, the nut's for 0.
func (f *figure) fretName(fret int, y float64) {
	words := "nut"
	if fret > 0 {
		words = fmt.Sprintf("fret %d", fret)
	}
	f.text(f.of(fret), y, "middle", words)
}

// arrow is a line with a head at its end; from and to may be equal in one coordinate only.
func (f *figure) arrow(class string, x0, y0, x1, y1 float64) {
	f.line(class, x0, y0, x1, y1)
	f.head(class, x0, y0, x1, y1)
}

// head is the head of an arrow that comes from a place.
func (f *figure) head(class string, x0, y0, x1, y1 float64) {
	long := math.Hypot(x1-x0, y1-y0)
	ux, uy := (x1-x0)/long, (y1-y0)/long
	const back, side = 7.0, 3.2
	f.path(class+" head", "M%.1f %.1fL%.1f %.1fL%.1f %.1fZ", x1, y1, x1-back*ux-side*uy, y1-back*uy+side*ux, x1-back*ux+side*uy, y1-back*uy-side*ux)
}

// span is what is measured between two heights at a place: a line with a stroke across both ends.
func (f *figure) span(x, y0, y1 float64) {
	f.line("measure", x, y0, x, y1)
	f.line("measure", x-5, y0, x+5, y0)
	f.line("measure", x-5, y1, x+5, y1)
}

// positive shows which way is positive: an arrow with its sign.
func (f *figure) positive(x0, y0, x1, y1 float64) {
	f.arrow("sign", x0, y0, x1, y1)
	ux := (x0 - x1) / math.Hypot(x1-x0, y1-y0)
	uy := (y0 - y1) / math.Hypot(x1-x0, y1-y0)
	x, y := x0+9*ux, y0+9*uy
	f.dot("sign", x, y, 8)
	f.path("sign", "M%.1f %.1fh8m-4 -4v8", x-4, y)
}

// taller says by how much heights are drawn taller than lengths: to two digits.
func (f *figure) taller(y, units float64) {
	n := units / f.scale
	round := math.Pow(10, math.Floor(math.Log10(n))-1)
	f.text(figureWidth-4, y, "end", fmt.Sprintf("heights drawn %.0f times as tall", math.Round(n/round)*round))
}

// crowns draws the crowns of all frets seen from the side as dots over a line at y, heights in mm drawn so many units tall.
func (f *figure) crowns(y, units float64, z []float64) {
	for i, h := range z {
		f.dot("crown", f.at(f.frets[i]), y-h*units, 3.2)
	}
}

// curve draws a line through heights over a range of frets, a tenth of a fret's way at a time.
func (f *figure) curve(class string, y, units float64, from, to float64, z func(mm float64) float64) {
	var d strings.Builder
	const steps = 60
	for i := range steps + 1 {
		mm := from + (to-from)*float64(i)/steps
		fmt.Fprintf(&d, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], f.at(mm), y-z(mm)*units)
	}
	f.path(class, "%s", d.String())
}

// fretX is a fret's place, mm.
func (f *figure) fretX(fret int) float64 { return f.frets[fret-1] }

// bow is an even bow of so much relief at the relief fret, against the chord, and its tangent beyond the datum's second fret.
func (f *figure) bow(relief float64) func(mm float64) float64 {
	a, k, b := f.fretX(f.a), f.fretX(f.k), f.fretX(f.b)
	c := relief / ((k - a) * (b - k))
	return func(mm float64) float64 {
		if mm > b {
			return c * (b - a) * (mm - b)
		}
		return -c * (mm - a) * (b - mm)
	}
}

// arch is an even bow over all frets, so deep in its middle.
func (f *figure) arch(deep float64) func(mm float64) float64 {
	first, last := f.fretX(1), f.fretX(f.last)
	return func(mm float64) float64 {
		return -4 * deep * (mm - first) * (last - mm) / ((last - first) * (last - first))
	}
}

// heights are a curve's at all frets.
func (f *figure) heights(z func(mm float64) float64) []float64 {
	all := make([]float64, len(f.frets))
	for i, x := range f.frets {
		all[i] = z(x)
	}
	return all
}
