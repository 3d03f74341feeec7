package draw

import (
	"fmt"

	"sagitta/inspect"
)

// theStrings are the figures of strings: what action, nut height, clearance and pitch are.
var theStrings = map[string]func(f *figure){
	inspect.Action: func(f *figure) {
		top, under := f.overUsualFret()
		f.span(208, top, under)
		f.text(222, (top+under)/2+4, "start", "action")
		f.words = fmt.Sprintf("Seen from the side, the same scale along and up: the action is the height from the top of fret %d to the underside of the string.", inspect.DefaultActionFret)
	},
	inspect.NutHeight: func(f *figure) {
		top, under := f.atNut()
		f.span(f.of(1)+16, top, under)
		f.text(f.of(1)+26, top+12, "start", "nut height")
		f.words = "Seen from the side: the nut height is the height from the top of fret 1 to the underside of the open string."
	},
	inspect.LeastClearance: func(f *figure) {
		f.pressed(false)
		f.words = fmt.Sprintf("Seen from the side: a string pressed at fret %d runs straight to the saddle; the least clearance is its smallest height over any crown beyond, for every fret it can be pressed at.", pressedAt)
	},
	inspect.ClearanceMargin: func(f *figure) {
		f.pressed(true)
		f.words = fmt.Sprintf("Seen from the side: plucked, a string pressed at fret %d swings down into the dashed triangle; what is left over the crowns is the clearance when plucked. A crown inside the triangle is touched: below 0, buzz is predicted.", pressedAt)
	},
	inspect.Pitch: func(f *figure) {
		f.cents("target pitch", "flat: negative", "sharp: positive")
		f.words = "A scale of cents about the string's target pitch: sharper is positive, flatter negative; a hundred cents are a semitone."
	},
	inspect.Intonation: func(f *figure) {
		f.cents("open pitch raised by the fret's semitones", "flat: negative", "sharp: positive")
		f.words = "A scale of cents about the pitch that the open string promises at the fret, an octave higher at fret 12: sharper is positive, flatter negative."
	},
}

// pressedAt is the fret at which figures of clearance press the string.
const pressedAt = 3

// overUsualFret draws the frets about the one where action is usually measured, see over.
func (f *figure) overUsualFret() (top, under float64) { return f.over(inspect.DefaultActionFret) }

// over draws a fret with its neighbours, the nut being fret 0, and a string over them, the same scale along and up; it returns the heights
// of the fret's top and of the string's underside there.
func (f *figure) over(fret int) (top, under float64) {
	f.height = 128
	const y, crown, half, action = 84.0, 1.2, 1.2, 2.0 // the board's top; heights and half a width, mm
	x := func(n int) float64 {
		if n == 0 {
			return 0
		}
		return f.fretX(n)
	}
	units := min(7.2, 160/(x(fret)-x(fret-1)))
	at := func(n int) float64 { return 208 + (x(n)-x(fret))*units }
	top, under = y-crown*units, y-(crown+action)*units
	left := 10.0
	if fret == 1 {
		left = at(0)
	}
	f.path("wood", "M%.1f %.1fH390v20H%.1fZ", left, y, left)
	for n := fret - 1; n <= min(fret+1, f.last); n++ {
		words := fmt.Sprintf("fret %d", n)
		if n == 0 {
			words = "nut"
			f.path("metal", "M%.1f %.1fV%.1fh-22V%.1fZ", at(0), y+20, under+4, y+20)
		} else {
			f.path("metal", "M%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1fZ", at(n)-half*units, y, half*units, crown*units, at(n)+half*units, y)
		}
		f.text(at(n), y+36, "middle", words)
	}
	f.path("string", "M10 %.1fL390 %.1fv-6L10 %.1fZ", under+3.6, under-3.6, under-2.4)
	return top, under
}

// atNut draws the nut, fret 1 and an open string; heights are drawn taller. It returns the heights of the fret's top and of the string's
// underside there.
func (f *figure) atNut() (top, under float64) {
	f.height = 176
	const up, y, crown, nut, height = 28.0, 116.0, 1.1, 2.0, 0.5 // units a mm of height; the board's top; heights, mm
	f.scale = 200 / f.fretX(1)
	left := figureLeft + 30 - f.at(0)
	f.path("wood", "M%.1f %.1fH390v20H%.1fZ", f.at(0)+left, y, f.at(0)+left)
	f.path("metal", "M%.1f %.1fV%.1fl26 -6V%.1fZ", f.at(0)+left-26, y+20, y-nut*up+6, y+20)
	x := f.of(1)
	f.path("metal", "M%.1f %.1fA7 %.1f 0 0 1 %.1f %.1fZ", x-7, y, crown*up, x+7, y)
	top, under = y-crown*up, y-(crown+height)*up
	slope := (nut - crown - height) * up / (x - f.at(0) - left)
	f.path("string", "M%.1f %.1fL390 %.1fv-7L%.1f %.1fZ", f.at(0)+left-26, y-nut*up+6, under+(390-x)*slope, f.at(0)+left, y-nut*up-7)
	f.text(f.at(0)+left-13, y+38, "middle", "nut")
	f.text(x, y+38, "middle", "fret 1")
	f.taller(f.height-2, up)
	return top, under
}

// pressed draws a string pressed at a fret, to the saddle; plucked with the triangle into which it swings.
func (f *figure) pressed(plucked bool) {
	f.height = 150
	const y, units, saddle, action = 88.0, 13.0, 5.2, 2.0
	scale := f.board.fan.Centre.Saddle
	f.wide(scale + 10)
	bend := f.bow(0.25)
	z := func(mm float64) float64 { return bend(min(mm, f.fretX(f.b))) }
	for n := 1; n <= f.last; n++ {
		x, top := f.of(n), y-z(f.fretX(n))*units
		f.line("crown", x, y+12, x, top)
	}
	f.line("quiet", f.at(0), y+12, f.of(f.last)+6, y+12)
	f.path("metal", "M%.1f %.1fl5 -%.1fl5 %.1fZ", f.at(scale)-5, y+12, saddle*units+12, saddle*units+12)
	x0, h0 := f.fretX(pressedAt), z(f.fretX(pressedAt))
	line := func(mm float64) float64 { return h0 + (saddle-h0)*(mm-x0)/(scale-x0) }
	f.line("line", f.at(x0), y-h0*units, f.at(scale), y-saddle*units)
	f.line("line", f.at(0), y-1.2*units, f.at(x0), y-h0*units)
	f.arrow("hand", f.at(x0), y-44, f.at(x0), y-h0*units-4)
	f.text(f.at(x0), y-50, "middle", fmt.Sprintf("pressed at fret %d", pressedAt))
	const distance, deep = 130.0, 0.7
	drop := func(mm float64) float64 { return 0 }
	if plucked {
		drop = func(mm float64) float64 {
			if mm-x0 < distance {
				return deep * (mm - x0) / distance
			}
			return deep * (scale - mm) / (scale - x0 - distance)
		}
		f.path("line dashed", "M%.1f %.1fL%.1f %.1fL%.1f %.1f", f.at(x0), y-h0*units, f.at(x0+distance), y-(line(x0+distance)-deep)*units, f.at(scale), y-saddle*units)
	}
	n := f.b - 2
	x := f.fretX(n)
	f.span(f.at(x), y-z(x)*units, y-(line(x)-drop(x))*units)
	f.fretName(n, y+30)
	f.text(f.at(scale), y+30, "end", "saddle")
	f.text(f.at(x)+8, y+48, "middle", map[bool]string{true: "what the pluck leaves", false: "clearance"}[plucked])
	f.line("quiet", f.at(x), y+34, f.at(x), y+37)
	f.taller(14, units)
}

// cents draws a scale of cents about what is wanted.
func (f *figure) cents(zero, flat, sharp string) {
	f.height = 108
	const y = 52.0
	f.line("line", 30, y, 370, y)
	for c := -50; c <= 50; c += 10 {
		long := 6.0
		if c%50 == 0 {
			long = 11
		}
		f.line("line", 200+float64(c)*3.2, y-long, 200+float64(c)*3.2, y+long)
	}
	f.line("measure", 200, y-18, 200, y+18)
	f.text(200, 24, "middle", zero)
	f.text(40, y+30, "middle", "−50")
	f.text(360, y+30, "middle", "+50 cents")
	f.positive(200, y+44, 250, y+44)
	f.text(260, y+49, "start", sharp)
	f.text(140, y+49, "end", flat)
}
