package draw

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// Pin is a picture that stands on a neck's drawing at a fret.
type Pin struct {
	Fret    int
	Picture string // where it is found
	Path    string // where it leads
	Words   string // what it is
}

// Pictures of a pinned drawing, drawing units.
const (
	pinWide, pinHigh = 96.0, 72.0
	pinGap           = 8.0
	pinLine          = 26.0 // from the board to the first row, past the frets' numbers
)

// Pinned draws a neck from above with pictures below it, each tied to its fret; where two would lie over another the second stands lower.
func Pinned(spec *inspect.Spec, pins []Pin, handed string) template.HTML {
	pins = slices.Clone(pins)
	slices.SortStableFunc(pins, func(a, b Pin) int { return cmp.Compare(a.Fret, b.Fret) })
	o := outlineOf(spec)
	a := o.axis()
	var ends []float64 // of each row, where its last picture ends
	rows := make([]int, len(pins))
	lefts := make([]float64, len(pins))
	under := o.high
	if handed == "left" {
		under = o.low
	}
	at := func(p Pin) float64 { return a.At(under.At(max(1, min(p.Fret, spec.Neck.Frets)))) }
	words := make([]string, len(pins))
	for i, p := range pins {
		lefts[i] = max(0, min(at(p)-pinWide/2, drawWidth-pinWide))
		rows[i] = slices.IndexFunc(ends, func(end float64) bool { return end+pinGap <= lefts[i] })
		if rows[i] < 0 {
			rows[i] = len(ends)
			ends = append(ends, 0)
		}
		ends[rows[i]] = lefts[i] + pinWide
		words[i], o.numbers = p.Words, append(o.numbers, p.Fret)
	}
	o.room = pinLine + float64(len(ends))*(pinHigh+pinGap)
	top := 2*(o.half()*a.Scale+8) + pinLine
	var b strings.Builder
	o.neck(&b, spec, handed, "The neck from above with a photograph at "+tell.List(words)+".")
	for i := len(pins) - 1; i >= 0; i-- { // lines lie under the pictures
		fmt.Fprintf(&b, `<path class="pin" d="M%.1f %.1fV%.1f"/>`, at(pins[i]), top-6, top+float64(rows[i])*(pinHigh+pinGap))
	}
	for i, p := range pins {
		place := fmt.Sprintf(`x="%.1f" y="%.1f" width="%.0f" height="%.0f"`, lefts[i], top+float64(rows[i])*(pinHigh+pinGap), pinWide, pinHigh)
		fmt.Fprintf(&b, `<a href="%s" aria-label="%s"><image href="%s" %s preserveAspectRatio="xMidYMid slice"/><rect class="pin" %[4]s/></a>`,
			template.HTMLEscapeString(p.Path), template.HTMLEscapeString(p.Words), template.HTMLEscapeString(p.Picture), place)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}
