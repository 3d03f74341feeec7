package draw

import (
	"fmt"
	"html/template"
)

// Meaning draws what a part of a specification is about, not to scale; "" for a name that has no drawing.
func Meaning(name string) template.HTML {
	m, ok := meanings[name]
	if !ok {
		return ""
	}
	return template.HTML(fmt.Sprintf(`<svg class="meaning" viewBox="0 0 360 120" role="img" aria-label="%s">%s</svg>`, template.HTMLEscapeString(m.words), m.lines))
}

type meaning struct{ words, lines string }

// meanings are the drawings by name, 360 by 120.
var meanings = map[string]meaning{
	"scale": {
		"The neck from above: the scale goes from the nut's front edge to the saddle; the joint is where neck and body meet.",
		`<path class="wood" d="M30 44L220 38V74L30 68Z"/><path d="M30 42V70M76 43V69M112 41V71M146 40V72M176 39V73M200 38V74"/><path d="M320 36V76"/><path class="heavy" d="M176 30V82"/><path class="quiet" d="M30 56H320"/><path class="measure" d="M30 100H320M30 94V106M320 94V106"/>` +
			mark(30, 32, "middle", "nut") + mark(176, 24, "middle", "joint") + mark(320, 28, "middle", "saddle") + mark(175, 116, "middle", "scale"),
	},
	"radius": {
		"The board seen from its end: its radius is that of the circle that its surface lies on; a flat board has none.",
		`<path class="wood" d="M90 70Q180 28 270 70V92H90Z"/><path d="M90 70Q180 28 270 70"/><path class="measure" d="M180 118L232 54"/>` + mark(240, 44, "start", "board radius"),
	},
	"string": {
		"The nut seen from the neck: a string's place is its distance from the middle line, negative on the bass side, positive on the treble side.",
		`<path class="quiet dashed" d="M180 14V104"/><path class="wood" d="M70 74Q180 52 290 74V96H70Z"/><circle cx="90" cy="62" r="7"/><circle cx="126" cy="56" r="6"/><circle cx="162" cy="53" r="5"/><circle cx="198" cy="53" r="4"/><circle cx="234" cy="57" r="3"/><circle cx="270" cy="63" r="2.5"/><path class="measure" d="M180 30H270M270 24V54"/>` +
			mark(225, 22, "middle", "place, positive") + mark(60, 90, "end", "bass") + mark(300, 90, "start", "treble") + mark(90, 44, "middle", "6") + mark(284, 58, "start", "1"),
	},
	"limit": {
		"A limit: what lies between the lower and the upper limit conforms; the target is what rework aims at.",
		`<path class="quiet" d="M20 60H340"/><rect class="inside" x="110" y="44" width="140" height="32"/><path class="heavy" d="M110 34V86M250 34V86"/><path class="measure" d="M180 44V76"/>` +
			mark(110, 26, "middle", "lower limit") + mark(250, 26, "middle", "upper limit") + mark(180, 98, "middle", "target") + mark(54, 108, "middle", "does not") + mark(306, 108, "middle", "does not"),
	},
	"track": {
		"The neck from above: tracks are the lines along which a gauge goes, under the outer strings on the bass and the treble side and down the middle.",
		`<path class="wood" d="M54 38L330 24V96L54 82Z"/><path d="M54 36V84M110 33V87M166 31V89M214 28V92M256 27V93M292 26V94"/><path class="measure dashed" d="M54 46L330 36M54 74L330 84"/><path class="quiet dashed" d="M54 60H330"/>` +
			mark(6, 50, "start", "bass") + mark(6, 78, "start", "treble"),
	},
	"guard": {
		"A value beside its upper limit with its uncertainty: with a guard the limit moves by the guard factor times the standard uncertainty.",
		`<path class="quiet" d="M20 66H340"/><rect class="inside" x="60" y="50" width="150" height="32"/><path class="heavy" d="M250 30V92"/><path class="heavy dashed" d="M210 40V92"/><path class="measure" d="M210 100H250"/><path d="M196 66H262M196 60V72M262 60V72"/><circle class="point" cx="229" cy="66" r="5"/>` +
			mark(250, 24, "middle", "upper limit") + mark(230, 116, "middle", "guard") + mark(130, 40, "middle", "accepted"),
	},
	"spread": {
		"The same place read again and again: the readings spread about the true value; the standard uncertainty is the width of that spread.",
		`<path class="quiet" d="M30 96H330"/><path d="M40 95C120 94 130 24 180 24S240 94 320 95"/><path class="measure" d="M180 62H216M216 56V68M180 56V68"/><path class="quiet dashed" d="M180 18V96"/>` +
			mark(222, 58, "start", "standard uncertainty") + mark(180, 114, "middle", "true value"),
	},
	"pluck": {
		"The string seen from the side, plucked a distance from the saddle: it swings towards the crowns.",
		`<path d="M20 40H330"/><path class="quiet dashed" d="M20 40L260 74L330 40"/><path d="M40 104a12 18 0 0 1 24 0M110 104a12 18 0 0 1 24 0M172 104a12 18 0 0 1 24 0"/><path class="measure" d="M260 12V36M254 28l6 10 6-10M260 98H330M260 92V104M330 92V104"/>` +
			mark(252, 22, "end", "force") + mark(295, 88, "middle", "distance") + mark(340, 34, "end", "saddle"),
	},
}

// mark is a word of a drawing.
func mark(x, y int, anchor, word string) string {
	return fmt.Sprintf(`<text x="%d" y="%d" text-anchor="%s">%s</text>`, x, y, anchor, word)
}
