package inspect

import (
	"math"
	"slices"

	"sagitta/inspect/fit"
)

// gaps holds the clearance map of one string as it is computed: z under the string at each fret and, for each held fret,
// the envelope to take off. It is used again for every perturbation.
type gaps struct {
	line  *stringLine
	z     []float64 // crowns, NaN where none
	first float64   // heights over fret 1 and over the action's fret
	over  float64
	give  float64 // 1/tension, 1/N: times the neck's envelopes it is this string's
}

// newGaps prepares a string's clearance map; nil when the readings do not give its line.
func (l *stringLine) newGaps() *gaps {
	if l.first == nil || l.over == nil || l.over.Fret < 2 {
		return nil
	}
	g := &gaps{line: l, first: l.first.HeightMM, over: l.over.HeightMM, give: 1 / l.tight, z: make([]float64, l.frets)}
	for i := range l.crowns {
		g.z[i] = l.crowns[i].height(i)
	}
	if math.IsNaN(g.z[0]) || math.IsNaN(g.z[l.over.Fret-1]) {
		return nil
	}
	return g
}

// newEnvelopes returns, by held fret and touched fret, how deep the plucked envelope of a string under a tension of 1 N is
// there; a string under T has 1/T of it. Nil without a pluck, and for held frets with the pluck beyond the held end.
func (l *stringLine) newEnvelopes() [][]float64 {
	p := l.spec.Pluck
	if p == nil {
		return nil
	}
	count := l.frets
	envelopes, all := make([][]float64, count), make([]float64, count*count)
	for held := range envelopes {
		from := l.line.At(held)
		length := l.line.Saddle - from
		if p.DistanceMM >= length {
			continue
		}
		envelopes[held] = all[held*count : (held+1)*count]
		for i := held; i < count; i++ {
			envelopes[held][i] = PluckEnvelope(p.ForceN, p.DistanceMM, length, 1, l.line.X[i]-from)
		}
	}
	return envelopes
}

// ends returns the string line's height at the slot, over the nut, and at the saddle.
func (g *gaps) ends() (slot, saddle float64) {
	l := g.line
	f := l.over.Fret - 1
	z1, zf := g.z[0]+g.first, g.z[f]+g.over
	x := &l.line
	slope := (zf - z1) / (x.X[f] - x.X[0])
	return z1 - slope*(x.X[0]-x.Nut), zf + slope*(x.Saddle-x.X[f])
}

// row finds the least gap and the least margin of held fret n. The frets are 0 where there is none.
func (g *gaps) row(n int, slot, saddle float64) (least float64, at int, margin float64, marginAt int) {
	l := g.line
	held, z := l.line.At(n), slot
	if n > 0 {
		z = g.z[n-1]
	}
	if math.IsNaN(z) {
		return 0, 0, 0, 0
	}
	slope := (saddle - z) / (l.line.Saddle - held)
	var envelope []float64
	if l.envelopes != nil {
		envelope = l.envelopes[n]
	}
	x, crowns := l.line.X, g.z
	for i := n; i < len(crowns) && i < len(x); i++ {
		gap := z + slope*(x[i]-held) - crowns[i]
		if math.IsNaN(gap) {
			continue
		}
		if at == 0 || gap < least {
			least, at = gap, i+1
		}
		if envelope == nil {
			continue
		}
		if gap -= g.give * envelope[i]; marginAt == 0 || gap < margin {
			margin, marginAt = gap, i+1
		}
	}
	return least, at, margin, marginAt
}

// least returns the least gap and the least margin over all held frets; ok tells which of the two exist.
func (g *gaps) least() (gap, margin float64, okGap, okMargin bool) {
	slot, saddle := g.ends()
	for n := range g.z {
		v, at, m, marginAt := g.row(n, slot, saddle)
		if at > 0 && (!okGap || v < gap) {
			gap, okGap = v, true
		}
		if marginAt > 0 && (!okMargin || m < margin) {
			margin, okMargin = m, true
		}
	}
	return gap, margin, okGap, okMargin
}

// addClearances adds a string's map: one entry for each held fret that touches something.
func (e *evaluation) addClearances(g *gaps) {
	slot, saddle := g.ends()
	for n := range g.z {
		v, at, m, marginAt := g.row(n, slot, saddle)
		if at == 0 {
			continue
		}
		c := Clearance{String: g.line.number, HeldFret: n, LeastMM: e.numbers.keep(v), AtFret: at}
		if marginAt > 0 {
			c.MarginMM, c.MarginAtFret = e.numbers.keep(m), marginAt
		}
		e.clearances = append(e.clearances, c)
	}
}

// propagate returns the standard uncertainties of the least gap and the least margin by central differences over the
// crowns beside the string, its two heights, and its tension where that rests on an estimated mass.
func (g *gaps) propagate() (uGap, uMargin float64) {
	var gap, margin fit.SumOfSquares
	add := func(v *float64, u float64) {
		if u == 0 {
			return
		}
		kept := *v
		*v = kept + u
		gapUp, marginUp, _, _ := g.least()
		*v = kept - u
		gapDown, marginDown, _, _ := g.least()
		*v = kept
		gap.Add(gapUp, gapDown)
		margin.Add(marginUp, marginDown)
	}
	l := g.line
	for i := range g.z {
		c := &l.crowns[i]
		if c.low == nil {
			continue
		}
		if c.low == c.high {
			add(&g.z[i], c.low.uz[i])
			continue
		}
		add(&g.z[i], (1-c.share)*c.low.uz[i])
		add(&g.z[i], c.share*c.high.uz[i])
	}
	add(&g.first, l.own(l.first.UMM))
	add(&g.over, l.own(l.over.UMM))
	add(&g.give, g.give*l.uTight/l.tight) // 1/T
	return gap.U(), margin.U()
}

// gaps adds the clearances and margins of every string, and its map.
func (e *evaluation) gaps() error {
	e.clearances = make([]Clearance, 0, len(e.strings)*e.frets)
	type least struct {
		string int
		gap, u float64
	}
	margins := make([]least, 0, len(e.strings)) // they follow the clearances of every string
	for i := range e.strings {
		l := &e.strings[i]
		g := l.newGaps()
		if g == nil {
			continue
		}
		e.addClearances(g)
		gap, left, okGap, okMargin := g.least()
		var uGap, uMargin float64
		if !e.quick {
			uGap, uMargin = g.propagate()
		}
		if okGap {
			e.add(Characteristic{Name: LeastClearance, String: l.number}, gap, uGap)
		}
		if okMargin {
			margins = append(margins, least{l.number, left, uMargin})
		}
	}
	for _, m := range margins {
		e.add(Characteristic{Name: ClearanceMargin, String: m.string}, m.gap, m.u)
	}
	return nil
}

// worstGap finds where a string's least clearance or margin lies.
func (e *evaluation) worstGap(c *Characteristic) (held, touched int) {
	least := math.Inf(1)
	for i := range e.clearances {
		g := &e.clearances[i]
		v, at := g.LeastMM, g.AtFret
		if c.Name == ClearanceMargin {
			v, at = g.MarginMM, g.MarginAtFret
		}
		if g.String == c.String && v != nil && *v < least {
			least, held, touched = *v, g.HeldFret, at
		}
	}
	return held, touched
}

// clearance adds a string's heights and the crowns beside it: those of the outer tracks that "each" stands for, or of the
// tracks between which the string runs.
func (p *points) clearance(c *Characteristic) {
	p.add(PointRef{Kind: PointNutHeight, String: c.String})
	fret := DefaultActionFret
	if r := p.spec.Routine; r != nil && len(r.ActionFrets) > 0 && !slices.Contains(r.ActionFrets, fret) {
		fret = slices.Max(r.ActionFrets)
	}
	p.add(PointRef{Kind: PointAction, String: c.String, Fret: fret})
	t := p.spec.FindString(c.String)
	if t == nil {
		return
	}
	low, high := "", ""
	wanted := p.spec.TrackNames()
	for _, k := range p.spec.TracksOf() { // from bass to treble
		if !slices.Contains(wanted, k.Name) {
			continue
		}
		if k.YNutMM <= t.YNutMM+onTrack {
			low = k.Name
		}
		if high == "" && k.YNutMM >= t.YNutMM-onTrack {
			high = k.Name
		}
	}
	for _, name := range []string{low, high} {
		if name != "" {
			p.crowns(name, 1, p.spec.Neck.Frets)
		}
	}
}

// stringIncomplete reports a fret without a crown under the string.
func (n *neck) stringIncomplete(c *Characteristic) bool {
	for i := range n.strings {
		if n.strings[i].number == c.String {
			return !n.strings[i].complete()
		}
	}
	return false
}

// workClearance adds the string line and where the least gap or margin lies.
func (n *neck) workClearance(w *workings, c *Characteristic) error {
	i := slices.IndexFunc(n.strings, func(l stringLine) bool { return l.number == c.String })
	if i < 0 {
		return nil
	}
	l := &n.strings[i]
	g := l.newGaps()
	if g == nil {
		return nil
	}
	slot, saddle := g.ends()
	w.add("mm", g.z[0]+g.first, "string over fret 1, open")
	w.add("mm", g.z[l.over.Fret-1]+g.over, "string over fret %d, open", l.over.Fret)
	w.add("mm", slot, "string line at the nut")
	w.add("mm", saddle, "string line at the saddle")
	e := evaluation{neck: n}
	e.addClearances(g)
	held, touched := e.worstGap(c)
	if touched == 0 {
		return nil
	}
	x, z := l.line.At(held), slot
	if held > 0 {
		z = g.z[held-1]
	}
	w.add("", float64(held), "pressed at fret (0 is the nut)")
	w.add("", float64(touched), "nearest to fret")
	w.add("mm", z+(saddle-z)*(l.line.At(touched)-x)/(l.line.Saddle-x), "string over fret %d", touched)
	w.add("mm", g.z[touched-1], "crown under it, fret %d", touched)
	if p := n.spec.Pluck; p != nil && c.Name == ClearanceMargin {
		length := l.line.Saddle - x
		w.add("N", l.tight, "tension at the target pitch")
		if l.uTight > 0 {
			w.add("N", l.uTight, "standard uncertainty of the tension: the mass is estimated from the diameter")
		}
		w.add("mm", PluckAmplitude(p.ForceN, p.DistanceMM, length, l.tight), "depth of the pluck")
		w.add("mm", g.give*l.envelopes[held][touched-1], "plucked envelope at fret %d", touched)
	}
	return nil
}
