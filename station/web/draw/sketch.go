package draw

import (
	"fmt"
	"html/template"

	"sagitta/inspect"
)

// Sketch draws what a characteristic of a specification is, not to scale; "" for one without a figure.
func Sketch(f inspect.Figure, d inspect.Datum) template.HTML {
	words, lines := "", ""
	switch f {
	case "relief":
		words = fmt.Sprintf("Seen from the side: the crowns lie on an arc; relief is its depth at fret %d under the chord from fret %d to fret %d.", d.ReliefFret, d.FirstFret, d.SecondFret)
		lines = `<path class="quiet" d="M40 30H320"/><path d="M40 30Q180 130 320 30"/><path class="measure" d="M160 30V78.9"/>` +
			label(40, 20, "middle", "fret", d.FirstFret) + label(320, 20, "middle", "fret", d.SecondFret) + label(160, 98, "middle", "fret", d.ReliefFret) + label(168, 56, "start", "relief", 0)
	case "rocker":
		words = "Seen from the side: three crowns side by side; the rocker is how high the middle one stands over the line through its neighbours."
		lines = `<path class="quiet" d="M60 80L300 60"/><path class="measure" d="M180 70V34"/><path d="M48 100a12 20 0 0 1 24 0M288 80a12 20 0 0 1 24 0M168 91V54a12 20 0 0 1 24 0V89M20 103.3L340 76.7"/>` +
			label(200, 40, "start", "rocker", 0)
	case "twist":
		words = fmt.Sprintf("Seen along the neck: the slope across fret %d, and dashed that across fret %d; twist is the angle from the one to the other.", d.SecondFret, d.FirstFret)
		lines = `<path class="quiet dashed" d="M60 66L300 60"/><path d="M60 88L300 38"/><path class="measure" d="M252 61.2A72 72 0 0 0 250.5 48.3"/>` +
			label(40, 112, "start", "bass side", 0) + label(320, 112, "end", "treble side", 0) + label(306, 38, "start", "fret", d.SecondFret) + label(306, 66, "start", "fret", d.FirstFret) + label(262, 84, "middle", "twist", 0)
	default:
		return ""
	}
	return template.HTML(fmt.Sprintf(`<svg class="sketch" viewBox="0 0 360 120" width="360" height="120" role="img" aria-label="%s">%s</svg>`, template.HTMLEscapeString(words), lines))
}

// label is a word of a sketch, with a number where it is one of several.
func label(x, y float64, anchor, word string, n int) string {
	if n > 0 {
		word += fmt.Sprintf(" %d", n)
	}
	return fmt.Sprintf(`<text x="%.0f" y="%.0f" text-anchor="%s">%s</text>`, x, y, anchor, word)
}
