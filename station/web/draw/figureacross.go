package draw

import (
	"fmt"
	"math"

	"sagitta/inspect"
)

// acrossNeck are the figures that look along the neck, the bass side at the left, and those of the whole board.
var acrossNeck = map[string]func(f *figure){
	inspect.Twist: func(f *figure) {
		f.height = 150
		const mid, y = 170.0, 72.0
		f.section(mid, y, "quiet dashed", 0)
		f.section(mid, y, "line", -13*math.Pi/180)
		f.path("measure", "M%.1f %.1fA120 120 0 0 0 %.1f %.1f", mid+120.0, y, mid+120*math.Cos(13*math.Pi/180), y-120*math.Sin(13*math.Pi/180))
		f.head("sign", mid+122, y-10, mid+120*math.Cos(13*math.Pi/180), y-120*math.Sin(13*math.Pi/180))
		f.text(mid+134, 66, "start", "twist")
		f.text(mid+132, y+14, "start", fmt.Sprintf("across fret %d", f.a))
		f.text(mid+122, 30, "start", fmt.Sprintf("across fret %d", f.b))
		f.text(mid-130, 116, "start", "bass side")
		f.text(mid+130, 116, "end", "treble side")
		f.text(mid, 142, "middle", "positive: the treble side rises towards the body")
		f.words = fmt.Sprintf("Seen along the neck from the nut: dashed the slope across fret %d, and the slope across fret %d; twist is the angle from the one to the other, positive where the treble side rises towards the body. Drawn many times too large.", f.a, f.b)
	},
	inspect.BoardRadius: func(f *figure) {
		f.height = 168
		radius, half := f.spec.Neck.NutRadiusMM, f.board.high.YAt(f.fretX(f.b))
		if radius == 0 {
			radius = 305
		}
		units := 300 / (2 * half)
		const mid, y = 200.0, 52.0
		rise := func(mm float64) float64 { return (radius - math.Sqrt(radius*radius-mm*mm)) * units }
		f.path("wood", "M%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1fv18h%.1fZ", mid-half*units, y+rise(half), radius*units, radius*units, mid+half*units, y+rise(half), -2*half*units)
		for i, mm := range []float64{-half * 0.8, 0, half * 0.8} {
			f.arrow("gauge", mid+mm*units, y-34, mid+mm*units, y+rise(mm))
			f.text(mid+mm*units, y-38, "middle", []string{"bass", "centre", "treble"}[i])
		}
		for _, mm := range []float64{-half * 0.8, half * 0.8} {
			f.line("measure dashed", mid+mm*units, y+rise(mm)+2, mid+mm*units*0.3, 160)
		}
		f.text(mid, 128, "middle", "board radius")
		f.text(mid, 144, "middle", "to a centre far below")
		f.words = "Seen along the neck: the crowns of one fret on three tracks or more lie on a circle; the board radius is its radius. The curve of the board is to scale; the centre lies far below the picture."
	},
	inspect.Flatness: func(f *figure) {
		f.height = 170
		both := f.planted(inspect.Flatness)
		const slant, deep, units = 34.0, 40.0, 260.0
		low, high := math.Inf(1), math.Inf(-1)
		for _, z := range both {
			for _, h := range z {
				low, high = math.Min(low, h), math.Max(high, h)
			}
		}
		f.wide(f.frets[f.last-1] + 10 + (slant+30)/f.scale)
		plane := func(class string, h float64) {
			y := 100 - h*units
			f.path(class, "M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fZ", f.at(-4), y, f.at(f.frets[f.last-1]+6), y, f.at(f.frets[f.last-1]+6)+slant, y-deep, f.at(-4)+slant, y-deep)
		}
		plane("quiet", low)
		for side, z := range both {
			dx, dy := 6.0, 8.0
			if side == "treble" {
				dx, dy = slant-6, deep-8
			}
			for i, h := range z {
				f.dot("crown", f.at(f.frets[i])+dx, 100-h*units-dy, 2.8)
			}
		}
		plane("quiet", high)
		f.span(f.at(f.frets[f.last-1]+6)+8, 100-low*units, 100-high*units)
		f.text(figureWidth-60, 164, "end", "flatness")
		f.text(4, 14, "start", "two parallel planes, every crown between them")
		f.words = "Two parallel planes as near to one another as they can be with every crown between them, once the board's radius is taken out; flatness is the distance between them."
	},
}

// section draws a board across, turned about its middle by an angle, the bass side at the left.
func (f *figure) section(mid, y float64, class string, angle float64) {
	c, s := math.Cos(angle), math.Sin(angle)
	f.line(class, mid-110*c, y-110*s, mid+110*c, y+110*s)
	if class == "line" {
		f.path("wood", "M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fZ", mid-110*c, y-110*s, mid+110*c, y+110*s, mid+110*c-14*s, y+110*s+14*c, mid-110*c-14*s, y-110*s+14*c)
		f.line(class, mid-110*c, y-110*s, mid+110*c, y+110*s)
	}
}
