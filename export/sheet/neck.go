package sheet

import (
	"fmt"
	"math"
	"strconv"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// Measures of the drawings, mm on paper.
const (
	headRoom  = 11.0 // left of the nut
	bodyRoom  = 7.0  // right of the last fret
	overhang  = 3.0  // of the board beyond the outer strings, mm of the neck
	letters   = 2.5
	panelHigh = 13.0
)

// onNeck puts places of the neck on paper.
type onNeck struct {
	k, x0, y0, side float64 // side is -1 where a left-handed neck has the bass side below
}

func (o onNeck) at(x, y float64) [2]float64 { return [2]float64{o.x0 + x*o.k, o.y0 + o.side*y*o.k} }

// neck draws the neck from above, and beneath it on the same places its shape by side, before and now.
func (g *gathered) neck() *Part {
	p := &Part{Title: g.Words.Neck, Wide: true}
	p.Draw = func(width float64) *Drawing {
		d := &Drawing{Wide: width, Words: g.Words.Neck}
		o := g.board(d, width)
		g.shapeBeneath(d, o)
		return d
	}
	return p
}

// board draws the neck from above to scale.
func (g *gathered) board(d *Drawing, width float64) onNeck {
	fan := g.spec.Fan()
	strings := tell.BassToTreble(g.spec.Strings)
	low, high := strings[0], strings[len(strings)-1]
	bass := fan.Line(low.YNutMM-overhang, low.YSaddleMM-overhang)
	treble := fan.Line(high.YNutMM+overhang, high.YSaddleMM+overhang)
	n := g.spec.Neck.Frets
	first, end := min(bass.At(0), treble.At(0)), max(bass.At(n), treble.At(n))
	o := onNeck{side: 1}
	o.k = (width - headRoom - bodyRoom) / (end - first)
	o.x0 = headRoom - first*o.k
	if g.now != nil && g.now.Handed == "left" {
		o.side = -1
	}
	half := max(math.Abs(bass.Y[n-1]), math.Abs(treble.Y[n-1])) * o.k
	o.y0 = half + 1
	d.High = 2*half + 2
	nut := func(l inspect.Line, y float64) [2]float64 { return o.at(l.At(0), y) }
	d.area("board", nut(bass, bass.YNutMM), o.at(bass.At(n)+6, bass.YAt(bass.At(n)+6)), o.at(treble.At(n)+6, treble.YAt(treble.At(n)+6)), nut(treble, treble.YNutMM))
	d.line("quiet", 0.25, nut(bass, bass.YNutMM), o.at(bass.At(n)+6, bass.YAt(bass.At(n)+6)), o.at(treble.At(n)+6, treble.YAt(treble.At(n)+6)), nut(treble, treble.YNutMM), nut(bass, bass.YNutMM))
	between := func(m int) float64 { return (fan.Centre.At(m-1) + fan.Centre.At(m)) / 2 }
	for _, m := range []int{3, 5, 7, 9, 15, 17, 19, 21} {
		if m <= n {
			d.disc("rule", 0.9, o.at(between(m), 0))
		}
	}
	if n >= 12 {
		off := (treble.Y[11] - bass.Y[11]) / 5
		d.disc("rule", 0.9, o.at(between(12), -off), o.at(between(12), off))
	}
	for m := 1; m <= n; m++ {
		d.line("quiet", 0.35, o.at(bass.At(m), bass.Y[m-1]), o.at(treble.At(m), treble.Y[m-1]))
	}
	d.line("ink", 1.1, nut(bass, bass.YNutMM), nut(treble, treble.YNutMM))
	for _, s := range strings {
		l := fan.Line(s.YNutMM, s.YSaddleMM)
		end := fan.Centre.At(n) + (bodyRoom-0.5)/o.k
		d.line("ink", 0.12+s.DiameterMM*0.17, o.at(l.At(0)-headRoom*0.25/o.k, s.YNutMM), o.at(end, l.YAt(end)))
		p := o.at(l.At(0), s.YNutMM)
		d.text("quiet", min(letters, o.k*spacing(g.spec.Strings)*0.9), "end", p[0]-headRoom*0.3, p[1]+0.8, s.Name)
	}
	d.High += 3.2
	for m := 1; m <= n; m++ {
		if m <= 12 && m%2 == 1 && m != 11 && m != 1 || m == 12 || m == 1 || m == g.spec.Neck.JointFret || m == n || m == 15 || m == 19 && n > 20 {
			d.text("quiet", 2.2, "middle", o.at(fan.Centre.At(m), 0)[0], d.High-0.6, strconv.Itoa(m))
		}
	}
	return o
}

// spacing is the least distance between neighbouring strings at the nut, mm.
func spacing(all []inspect.String) float64 {
	least := 20.0
	sorted := tell.BassToTreble(all)
	for i := 1; i < len(sorted); i++ {
		least = min(least, sorted[i].YNutMM-sorted[i-1].YNutMM)
	}
	return least
}

// shapeBeneath draws relief along the neck by side: against the chord over the datum frets, before as a dashed line, now as a full one.
func (g *gathered) shapeBeneath(d *Drawing, o onNeck) {
	before, now := g.profiles()
	if before == nil && now == nil {
		return
	}
	largest := 0.05
	tracks := map[string]bool{}
	for _, st := range []*drawn{before, now} {
		if st == nil {
			continue
		}
		for _, p := range st.tracks {
			tracks[p.Track] = true
			for _, v := range p.ReliefMM {
				if v != nil {
					largest = max(largest, math.Abs(*v))
				}
			}
		}
	}
	stretch := math.Floor((panelHigh - 5) / largest / o.k)
	for _, round := range []float64{100, 50, 20, 10, 5, 2, 1} {
		if stretch >= round {
			stretch = math.Floor(stretch/round) * round
			break
		}
	}
	stretch = max(stretch, 1)
	fan := g.spec.Fan()
	for _, t := range g.spec.TracksOf() {
		if !tracks[t.Name] {
			continue
		}
		line := fan.Line(t.YNutMM, t.YSaddleMM)
		base := d.High + 4
		a, b := g.spec.Datum.FirstFret, g.spec.Datum.SecondFret
		left, right := o.at(line.At(a), 0)[0], o.at(line.At(b), 0)[0]
		d.line("rule", 0.25, [2]float64{left, base}, [2]float64{right, base})
		d.area("quiet", [2]float64{left, base}, [2]float64{left - 0.8, base - 1.5}, [2]float64{left + 0.8, base - 1.5})
		d.area("quiet", [2]float64{right, base}, [2]float64{right - 0.8, base - 1.5}, [2]float64{right + 0.8, base - 1.5})
		d.text("ink", letters, "start", right+3, base+0.8, g.Words.Side(t.Name))
		g.curve(d, o, line, before, t.Name, base, stretch, "quiet")
		g.curve(d, o, line, now, t.Name, base, stretch, "accent")
		d.High += panelHigh
	}
	d.High += 4
	x := headRoom
	for _, key := range []struct {
		st     *drawn
		words  string
		colour string
	}{{before, g.Words.Before, "quiet"}, {now, g.Words.After, "accent"}} {
		if key.st == nil {
			continue
		}
		l := d.line(key.colour, 0.45, [2]float64{x, d.High - 1.8}, [2]float64{x + 6, d.High - 1.8})
		l.Dashed = key.colour == "quiet"
		words := tell.SheetPlace(key.words, "date", tell.Day(key.st.at))
		d.text("ink", letters, "start", x+7, d.High-1, words)
		x += 12 + float64(len([]rune(words)))*1.25
	}
	if x > d.Wide-60 { // a phone: the remark has its own line
		d.High += 3.6
	}
	d.text("quiet", 2.2, "end", d.Wide, d.High-1, tell.SheetPlace(g.Words.Stretched, "times", fmt.Sprintf("%.0f", stretch)))
}

// curve draws one inspection's relief along a track, which lies below its chord where the neck bows forward.
func (g *gathered) curve(d *Drawing, o onNeck, line inspect.Line, st *drawn, track string, base, stretch float64, colour string) {
	if st == nil {
		return
	}
	for _, p := range st.tracks {
		if p.Track != track {
			continue
		}
		var points [][2]float64
		for i, v := range p.ReliefMM {
			if v != nil {
				points = append(points, [2]float64{o.at(line.At(i+1), 0)[0], base + *v*o.k*stretch})
			}
		}
		l := d.line(colour, 0.45, points...)
		l.Dashed = colour == "quiet"
		if colour != "accent" {
			continue
		}
		d.disc(colour, 0.55, points...)
		at := g.spec.Datum.ReliefFret
		if c := g.reliefOf(track); c != nil && at >= 1 && at <= len(p.ReliefMM) && p.ReliefMM[at-1] != nil {
			x, y := o.at(line.At(at), 0)[0], base+*p.ReliefMM[at-1]*o.k*stretch
			d.line(colour, 0.25, [2]float64{x, base}, [2]float64{x, y})
			d.text("ink", letters, "start", x+1, base-0.9, g.written(c, unit.Millimetre)+" mm")
		}
	}
}

// heights draws the strings over the board as they are seen from the saddle.
func (g *gathered) heights() *Part {
	fret := g.heightFret()
	if fret == 0 {
		return nil
	}
	strings := tell.BassToTreble(g.spec.Strings)
	known := 0
	for _, s := range strings {
		if g.ofString(inspect.Action, s.Number, fret) != nil {
			known++
		}
	}
	if known == 0 {
		return nil
	}
	p := &Part{Title: tell.SheetPlace(g.Words.Heights, "fret", strconv.Itoa(fret))}
	p.Draw = func(width float64) *Drawing { return g.front(width, fret, strings) }
	p.Small = []string{g.Words.FromSaddle}
	return p
}

func (g *gathered) front(width float64, fret int, strings []inspect.String) *Drawing {
	const stretch = 2.0
	d := &Drawing{Wide: width, Words: tell.SheetPlace(g.Words.Heights, "fret", strconv.Itoa(fret))}
	fan := g.spec.Fan()
	low, high := fan.Line(strings[0].YNutMM, strings[0].YSaddleMM), fan.Line(strings[len(strings)-1].YNutMM, strings[len(strings)-1].YSaddleMM)
	from, to := low.Y[fret-1]-overhang, high.Y[fret-1]+overhang
	k, side := min((width-6)/(to-from), 1.8), 1.0
	if g.now.Handed == "left" {
		side = -1
	}
	middle := (from + to) / 2
	x := func(y float64) float64 { return width/2 + side*(y-middle)*k }
	radius := fan.Radius(fan.Centre.At(fret))
	edge := max(math.Abs(from), math.Abs(to))
	drop := func(y float64) float64 { // of the board's crown below its middle: the arc's height there
		if radius <= 0 {
			return 0
		}
		return inspect.Sagitta(radius, 2*math.Abs(y))
	}
	tallest := 0.0
	for _, s := range strings {
		if c := g.ofString(inspect.Action, s.Number, fret); c != nil {
			tallest = max(tallest, *c.Value)
		}
	}
	base := 5 + tallest*k*stretch
	var arc [][2]float64
	for i := range 41 {
		y := from + (to-from)*float64(i)/40
		arc = append(arc, [2]float64{x(y), base + drop(y)*k*stretch})
	}
	bottom := base + drop(edge)*k*stretch + 5
	d.area("board", append(append([][2]float64{}, arc...), [2]float64{x(to), bottom}, [2]float64{x(from), bottom})...)
	d.line("quiet", 0.6, arc...)
	size := min(letters, spacing(g.spec.Strings)*k*0.42)
	for i, s := range strings {
		l := fan.Line(s.YNutMM, s.YSaddleMM)
		y := l.Y[fret-1]
		crown := base + drop(y)*k*stretch
		d.text("quiet", size, "middle", x(y), bottom-1.2, s.Name)
		c := g.ofString(inspect.Action, s.Number, fret)
		if c == nil {
			continue
		}
		r := max(s.DiameterMM/2*k, 0.3)
		under := crown - *c.Value*k*stretch
		d.line("accent", 0.25, [2]float64{x(y), crown}, [2]float64{x(y), under})
		d.disc("ink", r, [2]float64{x(y), under - r})
		up := 0.0
		if size < 1.9 && i%2 == 1 { // close pairs: their numbers stand in two rows
			up = 2.4
		}
		d.text("ink", max(size, 1.9), "middle", x(y), under-2*r-0.8-up, g.written(c, unit.Millimetre))
	}
	d.High = bottom + 0.5
	return d
}
