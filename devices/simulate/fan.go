package simulate

import "math"

// Where frets, strings and tracks stand. With one scale the frets are square to the centre line. A fanned neck has a scale under each
// outermost string: its frets are straight lines between their places there, and the one that is square to the centre line is the
// perpendicular one. What a track has at a fret it has where the two lines meet.

// fanned tells whether the outermost strings have scales of their own.
func (n *Neck) fanned() bool { return n.ScaleBassMM != n.ScaleTrebleMM }

// place is a point on the board, mm.
type place struct{ x, y float64 }

// share is the part of a string's length between its nut and fret n: 1 - 2^(-n/12), twelve-tone equal temperament.
func share(fret float64) float64 { return 1 - math.Exp2(-fret/12) }

// ends are the places of a fret, given by its share of the scale, under the outermost strings: 0 is the nut, 1 the saddle.
func (n *Neck) ends(t float64) (bass, treble place) {
	square := n.ScaleMM * share(n.PerpendicularFret)
	end := func(track Track, scale float64) place {
		return place{square + scale*(t-share(n.PerpendicularFret)), track.YNutMM + (track.YSaddleMM-track.YNutMM)*t}
	}
	low, high := n.Outer()
	return end(low, n.ScaleBassMM), end(high, n.ScaleTrebleMM)
}

// lineAt is where a fret's line, given by its share of the scale, is at y.
func (n *Neck) lineAt(t, y float64) float64 {
	a, b := n.ends(t)
	return a.x + (b.x-a.x)*(y-a.y)/(b.y-a.y)
}

// NutX and SaddleX are where a track or string begins and ends.
func (n *Neck) NutX(t Track) float64 {
	if !n.fanned() {
		return 0
	}
	return n.lineAt(0, t.YNutMM)
}

func (n *Neck) SaddleX(t Track) float64 {
	if !n.fanned() {
		return n.ScaleMM
	}
	return n.lineAt(1, t.YSaddleMM)
}

// FretX is where fret n stands on the centre line, mm from the nut there: with one scale L (1 - 2^(-n/12)).
func (n *Neck) FretX(fret int) float64 { return n.FretOn(Track{}, fret) }

// FretOn is where a track has a fret: where the line from its nut to its saddle meets the fret's. Of two lines p + v d and a + w e the
// first meets the second at v = (a - p) x e / (d x e).
func (n *Neck) FretOn(t Track, fret int) float64 {
	if !n.fanned() {
		return n.ScaleMM * share(float64(fret))
	}
	a, b := n.ends(share(float64(fret)))
	ex, ey := b.x-a.x, b.y-a.y
	px, dx, dy := n.NutX(t), n.SaddleX(t)-n.NutX(t), t.YSaddleMM-t.YNutMM
	return px + dx*((a.x-px)*ey-(a.y-t.YNutMM)*ex)/(dx*ey-dy*ex)
}

// Y is a track's place across the board at x, mm.
func (n *Neck) Y(t Track, x float64) float64 {
	nut := n.NutX(t)
	return t.YNutMM + (t.YSaddleMM-t.YNutMM)*(x-nut)/(n.SaddleX(t)-nut)
}

// fretAt is where the line of a fret is at y.
func (n *Neck) fretAt(fret int, y float64) float64 {
	if !n.fanned() {
		return n.ScaleMM * share(float64(fret))
	}
	return n.lineAt(share(float64(fret)), y)
}
