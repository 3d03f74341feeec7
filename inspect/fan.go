package inspect

import (
	"fmt"
	"slices"

	"sagitta/inspect/unit"
)

// DefaultPerpendicularFret is square to the centre line where the specification names no other; common practice, no source.
const DefaultPerpendicularFret = 7.0

// Scale returns the scale length L, mm: on a multi-scale neck the mean of the outer strings' scales.
func (n *NeckSpec) Scale() float64 {
	switch {
	case n.ScaleMM != 0:
		return n.ScaleMM
	case n.ScaleIN != 0:
		return n.ScaleIN * unit.MMPerInch
	}
	return (n.ScaleBassMM + n.ScaleTrebleMM) / 2
}

// MultiScale reports that the outer strings have scale lengths of their own and the frets fan out.
func (n *NeckSpec) MultiScale() bool { return n.ScaleMM == 0 && n.ScaleIN == 0 }

// outerScales returns the scale lengths of the outermost strings, mm.
func (n *NeckSpec) outerScales() (bass, treble float64) {
	if n.MultiScale() {
		return n.ScaleBassMM, n.ScaleTrebleMM
	}
	return n.Scale(), n.Scale()
}

// shortestScale returns the shorter of the outer strings' scales, mm.
func (n *NeckSpec) shortestScale() float64 {
	b, t := n.outerScales()
	return min(b, t)
}

// Perpendicular returns the fret that is square to the centre line; it may be a fraction, and 0 is the nut.
func (n *NeckSpec) Perpendicular() float64 {
	if n.PerpendicularFret == nil {
		return DefaultPerpendicularFret
	}
	return *n.PerpendicularFret
}

// Fan is where everything stands on a neck. One rule gives every place: a fret is the straight line through its two places under
// the outer strings, a string or a track is the straight line from its nut to its saddle, and what it has at fret n it has where the
// two lines cross. Under an outer string of scale l fret n stands at x = L t_p - l (t_p - t_n), t_n = 1 - 2^(-n/12) and p the
// perpendicular fret. With one scale the frets are square to the centre line and x_n = L t_n everywhere (definition).
type Fan struct {
	ScaleMM float64    // L, the mean of the outer strings' scales
	Centre  Line       // y = 0
	frets   []fretLine // the nut, frets 1 to N, the saddle
	even    bool       // one scale: every line has the same places
	spec    *NeckSpec
}

// fretLine is the straight line of one fret: x + slope (y' - y) at y' across the board.
type fretLine struct{ x, y, slope float64 }

// at is the line's place at y.
func (f *fretLine) at(y float64) float64 { return f.x + f.slope*(y-f.y) }

// Line is a string, a track or the centre line: its places along the neck, x from the nut midway between the outer strings.
type Line struct {
	Nut, Saddle       float64   // x of its ends
	YNutMM, YSaddleMM float64   // y there
	X, Y              []float64 // where it crosses the frets; entry i is fret i+1
}

// Fan lays out a specification's neck. It needs one that passes Check.
func (s *Spec) Fan() *Fan {
	low, high, _ := s.outerStrings()
	bassScale, trebleScale := s.Neck.outerScales()
	f := &Fan{ScaleMM: s.Neck.Scale(), spec: &s.Neck, even: bassScale == trebleScale}
	f.frets = make([]fretLine, s.Neck.Frets+2)
	square := fretX(1, s.Neck.Perpendicular())
	for n := range f.frets {
		t := 1.0 // the saddle
		if n <= s.Neck.Frets {
			t = fretX(1, float64(n))
		}
		l := &f.frets[n]
		l.x, l.y = bassScale*t+(f.ScaleMM-bassScale)*square, low.YNutMM+(low.YSaddleMM-low.YNutMM)*t
		if !f.even {
			l.slope = (trebleScale - bassScale) * (t - square) / (high.YNutMM + (high.YSaddleMM-high.YNutMM)*t - l.y)
		}
	}
	f.Centre = f.Line(0, 0)
	return f
}

// Line returns the places of a string or track from yNut at its nut to ySaddle at its saddle, mm across the board.
func (f *Fan) Line(yNut, ySaddle float64) Line {
	nut, frets, saddle := &f.frets[0], f.frets[1:len(f.frets)-1], &f.frets[len(f.frets)-1]
	all := make([]float64, 2*len(frets))
	l := Line{Nut: nut.at(yNut), Saddle: saddle.at(ySaddle), YNutMM: yNut, YSaddleMM: ySaddle, X: all[:len(frets)], Y: all[len(frets):]}
	across := ySaddle - yNut
	for i := range frets {
		n := &frets[i]
		l.Y[i] = yNut + across*(n.at(yNut)-l.Nut)/(l.Scale()-n.slope*across)
		l.X[i] = n.at(l.Y[i])
	}
	return l
}

// lineOf returns where a profile was taken; mirrored tells that its places are those of a left-handed instrument as seen.
func (f *Fan) lineOf(t *TrackReading, mirrored bool) Line {
	if mirrored {
		return f.Line(-t.YNutMM, -t.YSaddleMM)
	}
	return f.Line(t.YNutMM, t.YSaddleMM)
}

// lineOf returns the line of a track: where its profile was taken, else where the specification has it.
func (s *Spec) lineOf(f *Fan, r *Readings, name string) Line {
	for i := range r.Profile {
		if r.Profile[i].Track == name {
			return f.lineOf(&r.Profile[i], r.mirrored(s))
		}
	}
	return f.Track(s, name)
}

// Track returns the line of a track of the specification (see TracksOf); the centre line for one that it does not know.
func (f *Fan) Track(s *Spec, name string) Line {
	for _, t := range s.TracksOf() {
		if t.Name == name {
			return f.Line(t.YNutMM, t.YSaddleMM)
		}
	}
	return f.Centre
}

// Scale is the line's own scale, mm.
func (l *Line) Scale() float64 { return l.Saddle - l.Nut }

// At is the line's place at fret n; 0 is the nut.
func (l *Line) At(n int) float64 {
	if n == 0 {
		return l.Nut
	}
	return l.X[n-1]
}

// YAt is the place across the board, mm, of the line at x.
func (l *Line) YAt(x float64) float64 { return TrackY(l.YNutMM, l.YSaddleMM, l.Scale(), x-l.Nut) }

// FromNut returns the places of the frets along the line, mm from its own nut: what a carriage on it shows.
func (l *Line) FromNut() []float64 {
	x := slices.Clone(l.X)
	for i := range x {
		x[i] -= l.Nut
	}
	return x
}

// Radius is the board's nominal radius, mm, at x: linear from x = 0 to the last fret on the centre line; 0 is flat.
func (f *Fan) Radius(x float64) float64 {
	return NominalRadius(f.spec.NutRadiusMM, f.spec.LastFretRadiusMM, f.Centre.X[len(f.Centre.X)-1], x)
}

// What a scale length may be, mm.
const leastScaleMM, mostScaleMM = 100.0, 2000.0

// scales checks that a neck has one scale, in mm or in inches, or the two of its outer strings.
func (c *checker) scales(s *Spec) {
	n := &s.Neck
	const allowed = "a scale length from 100 to 2000 mm"
	pair := n.ScaleBassMM != 0 || n.ScaleTrebleMM != 0
	switch {
	case n.ScaleIN != 0 && (n.ScaleMM != 0 || pair):
		c.fault("neck.scale_in", "scale_in with a scale in mm", "one of them alone: scale_in, scale_mm, or for a multi-scale neck the pair scale_bass_mm and scale_treble_mm")
	case n.ScaleIN != 0:
		c.number("neck.scale_in", n.ScaleIN, leastScaleMM/unit.MMPerInch, mostScaleMM/unit.MMPerInch, "a scale length from 3.94 to 78.74 in (100 to 2000 mm)")
	case n.ScaleMM != 0 && pair:
		c.fault("neck.scale_mm", "scale_mm with scale_bass_mm or scale_treble_mm", "scale_mm alone, or for a multi-scale neck the pair scale_bass_mm and scale_treble_mm alone")
	case n.ScaleMM == 0 && !pair:
		c.missing("neck.scale_mm", allowed+", or for a multi-scale neck the pair scale_bass_mm and scale_treble_mm instead of it, or scale_in in inches")
	case pair && n.ScaleBassMM == 0:
		c.missing("neck.scale_bass_mm", "the scale of the outermost bass string beside scale_treble_mm, mm (scale_mm for a neck of one scale)")
	case pair && n.ScaleTrebleMM == 0:
		c.missing("neck.scale_treble_mm", "the scale of the outermost treble string beside scale_bass_mm, mm (scale_mm for a neck of one scale)")
	case pair:
		c.number("neck.scale_bass_mm", n.ScaleBassMM, leastScaleMM, mostScaleMM, allowed)
		c.number("neck.scale_treble_mm", n.ScaleTrebleMM, leastScaleMM, mostScaleMM, allowed)
		if len(s.Strings) < 2 {
			c.fault("string", fmt.Sprintf("%d with scale_bass_mm and scale_treble_mm", len(s.Strings)), "two [[string]] at least: the two scales are those of the outermost strings")
		}
	default:
		c.number("neck.scale_mm", n.ScaleMM, leastScaleMM, mostScaleMM, allowed)
	}
	if n.PerpendicularFret != nil {
		if !pair {
			c.fault("neck.perpendicular_fret", fmt.Sprint(*n.PerpendicularFret), "only beside scale_bass_mm and scale_treble_mm: with one scale every fret is square to the centre line")
		}
		c.number("neck.perpendicular_fret", *n.PerpendicularFret, 0, float64(n.Frets), fmt.Sprintf("0 (the nut) to %d, the frets; a fraction is allowed", n.Frets))
	}
}

// fan checks that the frets of a multi-scale neck cross every string and track one after another.
func (c *checker) fan(s *Spec) {
	if !s.Neck.MultiScale() {
		return
	}
	low, high, _ := s.outerStrings()
	if low.YSaddleMM >= high.YSaddleMM {
		c.fault("string.y_saddle_mm", fmt.Sprintf("string %d at %v, string %d at %v", low.Number, low.YSaddleMM, high.Number, high.YSaddleMM),
			"the outermost strings in one order at nut and saddle: a multi-scale neck's frets lie between them")
		return
	}
	f := s.Fan()
	if !f.Centre.rises() {
		c.fault("neck.scale_bass_mm", fmt.Sprintf("%v with a scale_treble_mm of %v", s.Neck.ScaleBassMM, s.Neck.ScaleTrebleMM),
			"two scales whose frets cross the centre line one after another")
	}
	c.forEach("string", len(s.Strings), func(i int) { c.crossing(f.Line(s.Strings[i].YNutMM, s.Strings[i].YSaddleMM)) })
	c.forEach("track", len(s.Tracks), func(i int) { c.crossing(f.Line(s.Tracks[i].YNutMM, s.Tracks[i].YSaddleMM)) })
}

// crossing checks that a line of the entry meets nut, frets and saddle in their order.
func (c *checker) crossing(l Line) {
	if !l.rises() {
		c.fault(".y_nut_mm", fmt.Sprintf("%v at the nut, %v at the saddle", l.YNutMM, l.YSaddleMM),
			"a line that crosses the frets one after another: those of the two scales meet there")
	}
}

// rises reports that the line meets nut, frets and saddle in their order.
func (l *Line) rises() bool {
	before := l.Nut
	for _, x := range l.X {
		if !(x > before) {
			return false
		}
		before = x
	}
	return l.Saddle > before
}
