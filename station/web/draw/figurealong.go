package draw

import (
	"fmt"
	"math"

	"sagitta/inspect"
	"sagitta/inspect/zone"
)

// planted are the crowns that the figures of what crowns give are drawn from, mm by track; the value of a figure's characteristic on them
// is positive, which is what its arrow says.
func (f *figure) planted(name string) map[string][]float64 {
	bass := f.heights(f.bow(0.30))
	switch name {
	case inspect.ReliefMax:
		bass = f.with(bass, f.between(f.k, f.b), -0.07, 2)
	case inspect.SideDifference, inspect.Twist:
		treble := f.heights(f.bow(0.16))
		if name == inspect.Twist {
			treble = f.heights(f.bow(0.30))
			for i, x := range f.frets {
				treble[i] += 0.5 * x / f.frets[len(f.frets)-1]
			}
		}
		return map[string][]float64{"bass": bass, "treble": treble}
	case inspect.Straightness:
		bass = f.uneven(f.heights(f.bow(0.20)), 0.03)
	case inspect.Flatness, inspect.LevelZone:
		even := f.heights(f.bow(0.14))
		if name == inspect.Flatness {
			even = f.heights(f.arch(0.14))
		}
		return map[string][]float64{"bass": f.uneven(even, 0.02), "treble": f.uneven(even, -0.02)}
	case inspect.LevelDeviation, inspect.Rocker:
		bass[f.between(f.k, f.b)-1] += 0.09
	case inspect.Hump:
		bass = f.with(bass, (f.b+f.last+1)/2, 0.16, 1.3)
	case inspect.FallAway:
		for i := f.b; i < f.last; i++ {
			bass[i] -= 0.24 * math.Pow((f.frets[i]-f.fretX(f.b))/(f.fretX(f.last)-f.fretX(f.b)), 2)
		}
	}
	return map[string][]float64{"bass": bass}
}

// between is the fret half way between two.
func (f *figure) between(a, b int) int { return (a + b) / 2 }

// with adds a rise of so much at a fret, so many frets wide.
func (f *figure) with(z []float64, fret int, rise, wide float64) []float64 {
	for i := range z {
		z[i] += rise * math.Exp(-math.Pow(float64(i+1-fret)/wide, 2))
	}
	return z
}

// uneven adds what frets differ by, the same at every drawing.
func (f *figure) uneven(z []float64, by float64) []float64 {
	out := make([]float64, len(z))
	for i := range z {
		out[i] = z[i] + by*math.Sin(float64(i+1)*2.4)
	}
	return out
}

// Heights of figures seen from the side are drawn so many units a mm.
const sideUnits = 150.0

// bent is the neck's own bend up to its joint, for a figure whose crowns are a bow but for what it shows.
func (f *figure) bent() func(mm float64) float64 { return f.bow(0.30) }

var alongNeck = map[string]func(f *figure){
	inspect.Relief: func(f *figure) {
		f.height = 206
		f.wide(f.fretX(f.b) + 14)
		z := f.planted(inspect.Relief)["bass"]
		f.chord(38)
		f.crowns(38, sideUnits, z[:f.b])
		f.span(f.of(f.k), 38, 38-z[f.k-1]*sideUnits)
		f.text(f.of(f.k)+10, 66, "start", "relief")
		f.fretName(f.a, 22)
		f.fretName(f.b, 22)
		f.fretName(f.k, 38-z[f.k-1]*sideUnits+20)
		f.text(f.of(f.a)-10, 118, "start", "positive: forward bow")
		back := f.bow(-0.13)
		f.line("quiet dashed", f.of(f.a)-8, 158, f.of(f.b)+8, 158)
		for n := 1; n <= f.b; n++ {
			f.dot("crown", f.of(n), 158-back(f.fretX(n))*sideUnits, 3.2)
		}
		f.text(f.of(f.a)-10, 180, "start", "negative: back-bow")
		f.taller(200, sideUnits)
		f.words = fmt.Sprintf("Seen from the side: the crowns lie on an arc; relief is its depth at fret %d under the chord from fret %d to fret %d. Crowns below the chord are a forward bow, positive; crowns above it a back-bow, negative.", f.k, f.a, f.b)
	},
	inspect.ReliefMax: func(f *figure) {
		f.height = 138
		f.wide(f.fretX(f.b) + 14)
		z := f.planted(inspect.ReliefMax)["bass"]
		f.chord(38)
		f.crowns(38, sideUnits, z[:f.b])
		lowest := f.lowest(z)
		f.span(f.of(lowest), 38, 38-z[lowest-1]*sideUnits)
		f.text(f.of(lowest)+10, 64, "start", "largest relief")
		f.fretName(f.a, 22)
		f.fretName(f.b, 22)
		f.fretName(lowest, 38-z[lowest-1]*sideUnits+20)
		f.taller(f.height-4, sideUnits)
		f.words = fmt.Sprintf("Seen from the side: of all crowns between frets %d and %d the one that lies deepest under their chord, here fret %d. Below the chord is positive.", f.a, f.b, lowest)
	},
	inspect.SideDifference: func(f *figure) {
		f.height = 150
		f.wide(f.fretX(f.b) + 14)
		both := f.planted(inspect.SideDifference)
		f.chord(38)
		f.curve("line", 38, sideUnits, f.fretX(f.a), f.fretX(f.b), f.bow(0.30))
		f.curve("line dashed", 38, sideUnits, f.fretX(f.a), f.fretX(f.b), f.bow(0.16))
		x := f.of(f.k)
		f.span(x, 38-both["treble"][f.k-1]*sideUnits, 38-both["bass"][f.k-1]*sideUnits)
		f.text(x+10, 54, "start", "difference")
		f.fretName(f.a, 22)
		f.fretName(f.b, 22)
		f.fretName(f.k, 104)
		f.text(f.of(f.k)-24, 54, "end", "treble side")
		f.text(f.of(f.k)-52, 98, "end", "bass side")
		f.text(figureWidth-4, 126, "end", "positive: more relief on the bass side")
		f.taller(146, sideUnits)
		f.words = fmt.Sprintf("Seen from the side: the bows under the bass side and, dashed, under the treble side. The difference of their depths at fret %d is positive where the bass side has more relief.", f.k)
	},
	inspect.Straightness: func(f *figure) {
		f.height = 132
		z := f.planted(inspect.Straightness)["bass"]
		const y = 44
		f.crowns(y, sideUnits, z)
		m, _, err := zone.Straightness(f.frets, z)
		if err != nil {
			return
		}
		low, high := math.Inf(1), math.Inf(-1)
		line := func(mm float64) float64 { return m.Coefficients[0] + m.Coefficients[1]*mm }
		for i, x := range f.frets {
			low, high = math.Min(low, z[i]-line(x)), math.Max(high, z[i]-line(x))
		}
		for _, by := range []float64{low, high} {
			f.line("quiet", f.at(f.frets[0]-4), y-(line(f.frets[0]-4)+by)*sideUnits, f.at(f.frets[f.last-1]+4), y-(line(f.frets[f.last-1]+4)+by)*sideUnits)
		}
		x := f.frets[f.last-1] - 16
		f.span(f.at(x), y-(line(x)+low)*sideUnits, y-(line(x)+high)*sideUnits)
		f.text(f.at(x)+14, y-(line(x)+low)*sideUnits+20, "end", "straightness")
		f.taller(f.height-6, sideUnits)
		f.words = "Seen from the side: two parallel lines as near to one another as they can be with every crown of the track between them; straightness is the distance between them."
	},
	inspect.LevelZone: func(f *figure) {
		f.height = 118
		z := f.planted(inspect.LevelZone)["bass"]
		const y = 48
		even := f.bow(0.14)
		for _, by := range []float64{0.02, -0.02} {
			f.curve("quiet", y, 2*sideUnits, 0, f.fretX(f.b)+6, func(mm float64) float64 { return even(mm) + by })
		}
		for n := 1; n <= f.b; n++ {
			f.dot("crown", f.of(n), y-z[n-1]*2*sideUnits, 3.2)
		}
		x := f.at(f.fretX(f.b) + 6)
		f.span(x, y-(even(f.fretX(f.b)+6)+0.02)*2*sideUnits, y-(even(f.fretX(f.b)+6)-0.02)*2*sideUnits)
		f.text(x+10, y, "start", "level")
		f.text(x+10, y+15, "start", "zone")
		f.fretName(f.b, 24)
		f.fretName(f.a, 24)
		f.taller(f.height-6, 2*sideUnits)
		f.words = fmt.Sprintf("Seen from the side: the bow is taken out, and the twist; the level zone is the narrowest band along the bow that holds every crown up to fret %d, on all tracks together.", f.b)
	},
	inspect.LevelDeviation: func(f *figure) {
		f.height = 138
		z, n := f.planted(inspect.LevelDeviation)["bass"], f.between(f.k, f.b)
		const y = 44
		f.curve("line", y, sideUnits, f.fretX(1), f.fretX(f.b), f.bent())
		f.crowns(y, sideUnits, z)
		f.span(f.of(n), y-z[n-1]*sideUnits, y-f.bent()(f.fretX(n))*sideUnits)
		f.positive(f.of(n)-14, y-f.bent()(f.fretX(n))*sideUnits-8, f.of(n)-14, y-z[n-1]*sideUnits-14)
		f.text(f.of(n)-28, y-z[n-1]*sideUnits-4, "end", "level deviation")
		f.fretName(n, y-f.bent()(f.fretX(n))*sideUnits+20)
		f.text(f.of(3), 100, "middle", "bend curve")
		f.taller(f.height-6, sideUnits)
		f.words = fmt.Sprintf("Seen from the side: the bend curve runs through the crowns as the neck bends; fret %d stands above it. Above is positive, below negative.", n)
	},
	inspect.Hump: func(f *figure) {
		f.height = 150
		z := f.planted(inspect.Hump)["bass"]
		f.beyond(70, z)
		n := f.b + 1
		for i := f.b + 1; i <= f.last; i++ {
			if f.overTangent(z, i) > f.overTangent(z, n) {
				n = i
			}
		}
		f.span(f.of(n), 70-z[n-1]*sideUnits, 70-(z[n-1]-f.overTangent(z, n))*sideUnits)
		f.text(f.of(n)-10, 70-z[n-1]*sideUnits+2, "end", "hump")
		f.taller(f.height-6, sideUnits)
		f.words = fmt.Sprintf("Seen from the side: beyond fret %d, where the neck meets the body, the bend curve goes on as a straight line; the hump is how far a crown stands above it.", f.b)
	},
	inspect.FallAway: func(f *figure) {
		f.height = 140
		z := f.planted(inspect.FallAway)["bass"]
		f.beyond(60, z)
		f.span(f.of(f.last), 60-z[f.last-1]*sideUnits, 60-(z[f.last-1]-f.overTangent(z, f.last))*sideUnits)
		f.positive(f.of(f.last)-14, 60-(z[f.last-1]-f.overTangent(z, f.last))*sideUnits+12, f.of(f.last)-14, 60-z[f.last-1]*sideUnits+6)
		f.text(f.of(f.last)+6, 60-z[f.last-1]*sideUnits+20, "end", "fall-away")
		f.text(f.of(f.last)+6, 60-z[f.last-1]*sideUnits+36, "end", fmt.Sprintf("at fret %d", f.last))
		f.taller(f.height-2, sideUnits)
		f.words = fmt.Sprintf("Seen from the side: beyond fret %d the bend curve goes on as a straight line; fall-away is how far fret %d, the last, lies below it. Below is positive; a tongue that rises is negative.", f.b, f.last)
	},
	inspect.Rocker: rocker,
	inspect.FretPosition: func(f *figure) {
		f.height = 120
		f.box("wood", f.at(0), 40, f.at(f.frets[f.last-1]+8)-f.at(0), 34)
		f.line("nut", f.at(0), 40, f.at(0), 74)
		off := 9.0 / f.scale
		for n := 1; n <= f.last; n++ {
			class := "fret"
			if n == f.k {
				class = "quiet dashed"
			}
			f.line(class, f.of(n), 40, f.of(n), 74)
		}
		f.line("fret", f.of(f.k)+off*f.scale, 40, f.of(f.k)+off*f.scale, 74)
		f.positive(f.of(f.k), 88, f.of(f.k)+off*f.scale+6, 88)
		f.text(f.of(f.k)+22, 104, "start", "positive: too far from the nut")
		f.fretName(0, 30)
		f.fretName(f.k, 30)
		f.text(figureWidth-4, 14, "end", "dashed: where the formula puts it")
		f.words = fmt.Sprintf("Seen from above: fret %d and, dashed, its place by twelve-tone equal temperament. Further from the nut is positive. The error is drawn many times too large.", f.k)
	},
}

// chord is the line over the datum frets, at y.
func (f *figure) chord(y float64) { f.line("line", f.of(f.a)-8, y, f.of(f.b)+8, y) }

// lowest is the fret of the deepest crown before the joint.
func (f *figure) lowest(z []float64) int {
	n := f.a + 1
	for i := f.a + 1; i < f.b; i++ {
		if z[i-1] < z[n-1] {
			n = i
		}
	}
	return n
}

// overTangent is how far a crown beyond the joint stands over the bend curve's tangent there, mm.
func (f *figure) overTangent(z []float64, fret int) float64 {
	return z[fret-1] - f.bent()(f.fretX(fret))
}

// beyond draws crowns, their bend curve and its tangent beyond the joint.
func (f *figure) beyond(y float64, z []float64) {
	f.curve("line", y, sideUnits, f.fretX(1), f.fretX(f.b), f.bent())
	f.curve("line dashed", y, sideUnits, f.fretX(f.b), f.fretX(f.last)+6, f.bent())
	f.crowns(y, sideUnits, z)
	f.line("quiet", f.of(f.b), y+8, f.of(f.b), y+44)
	f.fretName(f.b, y+60)
}

// rocker draws three crowns side by side, nearer than the other figures.
func rocker(f *figure) {
	f.height = 140
	n := f.between(f.k, f.b)
	z := f.planted(inspect.Rocker)["bass"][n-2 : n+1]
	const x0, x1, y, units = 70.0, 330.0, 96.0, 420.0
	wide := (x1 - x0) / (f.fretX(n+1) - f.fretX(n-1))
	on := func(mm float64) float64 { return z[0] + (z[2]-z[0])*(mm-f.fretX(n-1))/(f.fretX(n+1)-f.fretX(n-1)) } // tilt changes nothing
	at := func(fret int) (x, top float64) {
		return x0 + (f.fretX(fret)-f.fretX(n-1))*wide, y - (z[fret-n+1]-on(f.fretX(fret)))*units
	}
	f.line("quiet", 30, y+18, 370, y+18)
	for i := n - 1; i <= n+1; i++ {
		x, top := at(i)
		f.path("metal", "M%.1f %.1fV%.1fA15 15 0 0 1 %.1f %.1fV%.1fZ", x-15, y+18, top+15, x+15, top+15, y+18)
		f.text(x, y+36, "middle", fmt.Sprintf("fret %d", i))
	}
	f.line("line", x0-36, y, x1+36, y)
	x, top := at(n)
	f.span(x, y, top)
	f.positive(x+28, y-12, x+28, top-6)
	f.text(x+42, top+4, "start", "rocker")
	f.text(figureWidth-4, 14, "end", fmt.Sprintf("heights drawn %.0f times as tall", math.Round(units/wide)))
	f.words = fmt.Sprintf("Seen from the side: frets %d, %d and %d; the rocker is how far the middle crown stands above the line through its neighbours. Above is positive, a high fret; below negative, a low one.", n-1, n, n+1)
}
