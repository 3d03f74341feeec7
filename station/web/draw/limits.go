package draw

import (
	"fmt"
	"html/template"
	"strings"
	"unicode/utf8"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// limitsWider is how many times as wide as to scale the neck is drawn with its limits, so that there is room for a line a string.
const limitsWider = 2

// Limits draws a specification's limits on its neck from above, twice as wide as it is, each at the string or side and fret that it is of.
// What is of the whole neck has no place there: see tell.WholeNeck.
func Limits(spec *inspect.Spec, lengths unit.Unit) template.HTML {
	o := outlineOf(spec)
	o.wider = limitsWider
	l := labels{spec: spec, o: o, a: o.axis()}
	l.high = 2 * (o.half()*l.a.Scale*o.wider + 8)
	words := "The neck from above, drawn twice as wide as it is, with its limits:"
	for _, limit := range spec.Limits {
		words += " " + tell.LimitName(limit) + " " + tell.Bounds(limit, lengths) + ";"
	}
	l.y = o.neck(&l.b, spec, "", strings.TrimSuffix(words, ";")+".")
	for _, limit := range spec.Limits {
		l.limit(limit, lengths)
	}
	l.b.WriteString(`</svg>`)
	return template.HTML(l.b.String())
}

// labels are the words on a board; none lies over another.
type labels struct {
	b     strings.Builder
	spec  *inspect.Spec
	o     outline
	a     xAxis
	y     func(mm float64) float64
	high  float64      // of the drawing
	boxes [][4]float64 // left, top, right, bottom
}

func (l *labels) limit(limit inspect.Limit, lengths unit.Unit) {
	k := inspect.KindOf(limit.Characteristic)
	text := k.Words + " " + tell.BoundsInShort(limit, lengths)
	if limit.Fret.Each && k.AtEveryFret() {
		text += ", each fret"
	}
	fret := k.LabelFret
	switch {
	case k.ReliefFret:
		fret = l.spec.Datum.ReliefFret
	case limit.Fret.Number > 0:
		fret = limit.Fret.Number
	case k.UsualFret > 0:
		fret = k.UsualFret
	case k.Name == inspect.Hump || k.Name == inspect.FallAway:
		fret = l.spec.Neck.Frets - 1
	}
	fret = max(1, min(fret, l.spec.Neck.Frets))
	lines := l.lines(k, limit)
	once := len(lines) > 1 && !k.ReliefFret // one label tells of all; relief is told on each side
	if once {
		text += ", each " + show.Pick(k.Track, "side", "string")
	}
	for i, line := range lines {
		x, y := l.a.At(line.X[fret-1]), l.y(line.Y[fret-1])
		fmt.Fprintf(&l.b, `<circle class="place" cx="%.1f" cy="%.1f" r="4"/>`, x, y)
		if !once || i == len(lines)/2 {
			l.write(x, y, text)
		}
	}
}

// lines are the strings or tracks that a limit is of.
func (l *labels) lines(k inspect.Kind, limit inspect.Limit) []inspect.Line {
	var lines []inspect.Line
	switch {
	case k.Track:
		names := []string{limit.Track}
		if limit.Track == "each" {
			names = l.spec.TrackNames()
		}
		for _, name := range names {
			lines = append(lines, l.o.fan.Track(l.spec, name))
		}
	case k.String:
		for _, s := range l.spec.Strings {
			if limit.String.Each || limit.String.Number == s.Number {
				lines = append(lines, l.o.fan.Line(s.YNutMM, s.YSaddleMM))
			}
		}
	}
	return lines
}

// letterWide and letterHigh are about the size of a letter of a label.
const letterWide, letterHigh = 6.4, 13.0

// write puts a label beside its place, on the next free line up or down where another lies there.
func (l *labels) write(at, y float64, text string) {
	wide := letterWide * float64(utf8.RuneCountInString(text))
	x, top := at+8, y-letterHigh/2
	for step := range 40 {
		dy := letterHigh * float64((step+1)/2) * float64(1-2*(step%2))
		right, left := at+8, at-8-wide
		if t := y - letterHigh/2 + dy; t < 0 || t+letterHigh > l.high {
			continue
		} else if right+wide < drawWidth && !l.taken(right, t, wide) {
			x, top = right, t
			break
		} else if left > drawLeft && !l.taken(left, t, wide) {
			x, top = left, t
			break
		}
	}
	l.boxes = append(l.boxes, [4]float64{x, top, x + wide, top + letterHigh})
	fmt.Fprintf(&l.b, `<text class="limit-label" x="%.1f" y="%.1f">%s</text>`, x, top+letterHigh-3, template.HTMLEscapeString(text))
}

func (l *labels) taken(x, top, wide float64) bool {
	for _, b := range l.boxes {
		if x < b[2]+6 && x+wide+6 > b[0] && top < b[3]-1 && top+letterHigh > b[1]+1 {
			return true
		}
	}
	return false
}
