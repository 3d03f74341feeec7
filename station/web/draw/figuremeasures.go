package draw

import (
	"fmt"

	"sagitta/inspect"
	"sagitta/station/web/show"
)

// measures and defines hold every figure by its name.
var measures, defines = map[string]func(f *figure){}, map[string]func(f *figure){}

func init() {
	for _, all := range []map[string]func(f *figure){alongNeck, acrossNeck, theStrings} {
		for name, draw := range all {
			defines[name] = draw
		}
	}
	for name, draw := range theGauges {
		measures[name] = draw
	}
	for name, draw := range byCharacteristic {
		measures[name] = draw
	}
}

// byCharacteristic are the figures of how each characteristic is measured: which crowns, and what else.
var byCharacteristic = map[string]func(f *figure){
	inspect.Relief:         func(f *figure) { f.carriage(f.a, f.b, f.k, "these three decide; the others shape it", f.a, f.k, f.b) },
	inspect.ReliefMax:      func(f *figure) { f.carriage(f.a, f.b, f.k, "every crown between the datum frets") },
	inspect.SideDifference: func(f *figure) { f.carriage(f.a, f.b, f.k, "these three on both sides", f.a, f.k, f.b) },
	inspect.Straightness:   func(f *figure) { f.carriage(1, f.last, f.k, "every crown of the track") },
	inspect.Flatness:       func(f *figure) { f.carriage(1, f.last, f.k, "every crown of both tracks") },
	inspect.LevelZone:      func(f *figure) { f.carriage(1, f.b, f.k, fmt.Sprintf("every crown up to fret %d, both tracks", f.b)) },
	inspect.LevelDeviation: func(f *figure) { f.carriage(1, f.b, f.k, fmt.Sprintf("every crown up to fret %d", f.b)) },
	inspect.Rocker:         func(f *figure) { f.carriage(f.k-1, f.k+1, f.k, "a crown and its two neighbours") },
	inspect.Hump:           func(f *figure) { f.carriage(1, f.last, f.b+1, fmt.Sprintf("every crown, also beyond fret %d", f.b)) },
	inspect.FallAway: func(f *figure) {
		f.carriage(1, f.last, f.last, fmt.Sprintf("every crown up to fret %d, and the last", f.b), f.b, f.last)
	},
	inspect.Twist: func(f *figure) { f.carriage(f.a, f.b, f.b, "the two ends of the outer tracks", f.a, f.b) },
	inspect.BoardRadius: func(f *figure) {
		f.carriage(f.k, f.k, f.k, "the crowns of one fret on three tracks or more")
		f.dot("dot", f.of(f.k), 36, 4)
	},
	inspect.FretPosition: func(f *figure) {
		f.plan(f.k, 0, 36)
		f.box("gauge", f.at(0), 31, f.of(f.k)-f.at(0), 10)
		f.fretName(0, 84)
		f.fretName(f.k, 84)
		f.positive(f.of(f.k)+16, 104, f.of(f.k)+52, 104)
		f.text(f.of(f.k)+60, 109, "start", "further is positive")
		f.height = 116
		f.words = fmt.Sprintf("The neck from above: the rule lies along the centre line from the nut's front edge to the middle of fret %d's crown. Further from the nut is positive.", f.k)
	},
	inspect.Action: theGauges[show.HelpOnHeightGauge],
	inspect.NutHeight: func(f *figure) {
		top, under := f.atNut()
		f.heightGauge(f.of(1), top, under)
		f.words = "The gauge's foot stands on the top of fret 1 beside the string, which is open and lies in its slot; the finger is raised until it just touches the underside. A higher string reads higher."
	},
	inspect.LeastClearance:  func(f *figure) { f.gaps() },
	inspect.ClearanceMargin: func(f *figure) { f.gaps() },
	inspect.Pitch: func(f *figure) {
		f.stringFrom(0, "pluck each open string and read the tuner")
		f.words = "The string sounds open, from the nut to the saddle; the tuner says by how many cents it is above (positive) or below its target."
	},
	inspect.Intonation: func(f *figure) {
		f.stringFrom(inspect.DefaultActionFret, "pluck it open, then pressed, and read both")
		f.words = fmt.Sprintf("The string is read open, then pressed at fret %d without bending it: sharper than the open string promises is positive.", inspect.DefaultActionFret)
	},
}

// edges are where the board's outline is on a plan whose middle is at y: across the neck at a fret, the bass edge first; 0 is the nut.
func (f *figure) edges(fret int, y float64) (bassX, bassY, trebleX, trebleY float64) {
	low, high := &f.board.low, &f.board.high
	x0, x1 := low.At(fret), high.At(fret)
	return f.at(x0), y + low.YAt(x0)*f.scale, f.at(x1), y + high.YAt(x1)*f.scale
}

// track is where an outer track crosses a fret, a little inside the edge; side is -1 for the bass.
func (f *figure) track(side float64, fret int, y float64) (trackX, trackY float64) {
	bassX, bassY, trebleX, trebleY := f.edges(fret, y)
	in := 4 / (trebleY - bassY) * f.scale
	if side > 0 {
		in = 1 - in
	}
	return bassX + (trebleX-bassX)*in, bassY + (trebleY-bassY)*in
}

// plan draws the neck to scale from above, its middle at y, with dots on the crowns of both tracks from one fret to another, or on those
// that are named.
func (f *figure) plan(from, to int, y float64, only ...int) {
	bassX, bassY, trebleX, trebleY := f.edges(0, y)
	low, high := &f.board.low, &f.board.high
	f.path("wood", "M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fZ", bassX, bassY, f.at(f.board.lowX), y+low.YAt(f.board.lowX)*f.scale,
		f.at(f.board.highX), y+high.YAt(f.board.highX)*f.scale, trebleX, trebleY)
	f.line("nut", bassX, bassY, trebleX, trebleY)
	for n := 1; n <= f.last; n++ {
		bassX, bassY, trebleX, trebleY := f.edges(n, y)
		f.line("fret", bassX, bassY, trebleX, trebleY)
	}
	if len(only) == 0 {
		for n := from; n <= to; n++ {
			only = append(only, n)
		}
	}
	for _, side := range []float64{-1, 1} {
		x0, y0 := f.track(side, 0, y)
		x1, y1 := f.track(side, f.last, y)
		f.line("quiet dashed", x0, y0, x1, y1)
		for _, n := range only {
			x, at := f.track(side, n, y)
			f.dot("dot", x, at, 3)
		}
	}
	f.text(4, bassY-4, "start", "bass")
	f.text(4, trebleY+13, "start", "treble")
}

// carriage draws how crowns are measured: from above which, and from the side the indicator on its carriage over one of them.
func (f *figure) carriage(from, to, over int, which string, only ...int) {
	f.height = 228
	f.plan(from, to, 36, only...)
	if which != "" {
		f.text(f.of(f.last), 76, "end", which)
	}
	const beam, y, units = 128.0, 184.0, 60.0
	z := f.heights(f.bow(0.30))
	f.crowns(y, units, z)
	f.box("gauge", f.at(0)-8, beam, f.of(f.last)-f.at(0)+16, 9)
	x, top := f.of(over), y-z[over-1]*units-3
	f.box("gauge", x-16, beam-4, 32, 17)
	f.indicator(x, beam+13-22, top)
	side := -1.0
	if over <= f.last/2 {
		side = 1
	}
	f.positive(x+side*26, 168, x+side*26, 142)
	f.text(x+side*40, 160, map[bool]string{true: "start", false: "end"}[side > 0], "positive: higher crown")
	f.fretName(over, 222)
	f.words = fmt.Sprintf("Above, the neck from above with the crowns that are measured: %s. Below, from the side: the indicator rides on a carriage along a straight beam; its plunger stands on top of the crown, here of fret %d. A higher crown reads higher, positive.", which, over)
}

// gaps draws what clearance is computed from.
func (f *figure) gaps() {
	f.plan(1, f.last, 36)
	f.height = 122
	for _, n := range []int{1, inspect.DefaultActionFret} {
		f.dot("measure open", f.of(n), 36, 9)
	}
	f.text(figureWidth-4, 84, "end", "dots: the crowns, on the tracks beside the string")
	f.text(figureWidth-4, 101, "end", fmt.Sprintf("rings: the string's height over frets 1 and %d", inspect.DefaultActionFret))
	f.words = fmt.Sprintf("The neck from above: clearance is not read from a gauge; it is worked out from the crowns of the tracks beside the string and from the string's height over frets 1 and %d.", inspect.DefaultActionFret)
}

// stringFrom draws a string from the nut or a fret to the saddle, with what is to be done.
func (f *figure) stringFrom(fret int, words string) {
	f.height = 112
	scale := f.board.fan.Centre.Saddle
	f.wide(scale + 10)
	const y = 52.0
	f.line("quiet", f.at(0), y+22, f.at(scale), y+22)
	for n := 1; n <= f.last; n++ {
		f.line("crown", f.of(n), y+22, f.of(n), y+16)
	}
	f.path("metal", "M%.1f %.1fv-20h-6v20Z", f.at(0), y+22)
	f.path("metal", "M%.1f %.1fl4 -26l4 26Z", f.at(scale)-4, y+22)
	f.text(f.at(0), y+40, "middle", "nut")
	f.text(f.at(scale)+8, y+40, "end", "saddle")
	if fret == 0 {
		f.line("line", f.at(0), y+2, f.at(scale), y-4)
	} else {
		f.line("quiet dashed", f.at(0), y+2, f.at(scale), y-4)
		f.path("line", "M%.1f %.1fL%.1f %.1fL%.1f %.1f", f.at(0), y+2, f.of(fret)-8, y+16, f.at(scale), y-4)
		f.arrow("hand", f.of(fret)-10, y-22, f.of(fret)-10, y+12)
		f.fretName(fret, y+40)
	}
	f.arrow("hand", f.at(scale*0.8), y+14, f.at(scale*0.8), y-24)
	f.text(f.at(scale*0.8)-10, y-18, "end", "pluck")
	f.text(200, 108, "middle", words)
}
