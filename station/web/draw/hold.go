package draw

import (
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
)

// Hold draws how a point is measured by hand on the neck of a specification: where the string is pressed and the leaf goes, where the
// ruler or the beam stands. Low enough to stand beside the question; the zero Figure for points that are measured otherwise, and for a neck
// that a figure has no room for.
func Hold(p batch.Point, spec *inspect.Spec) Figure {
	if !shows(spec) {
		return Figure{}
	}
	switch {
	case p.Kind.IsLeaf() && p.Fret == spec.Datum.ReliefFret:
		return drawn((*figure).holdLeaf, spec)
	case p.Kind == batch.BeamReading:
		return drawn((*figure).holdBeam, spec)
	case p.Kind == batch.NutHeight:
		return drawn(func(f *figure) { f.holdRuler(1) }, spec)
	case p.Kind == batch.ActionHeight && p.HeldFret == 0 && p.Fret >= 1 && p.Fret <= spec.Neck.Frets:
		return drawn(func(f *figure) { f.holdRuler(p.Fret) }, spec)
	}
	return Figure{}
}

// holdUnits are how tall the bow of a held neck is drawn, units a mm.
const holdUnits = 80.0

// held draws the crowns up to the datum's second fret under the line over them, y; low is the crown of the relief fret.
func (f *figure) held(y float64) (low float64) {
	f.wide(f.fretX(f.b) + 26)
	z := f.heights(f.bow(0.30))
	f.crowns(y, holdUnits, z[:f.b])
	return y - z[f.k-1]*holdUnits
}

func (f *figure) holdLeaf() {
	f.height = 118
	const y = 48.0
	low := f.held(y)
	f.line("line", f.at(0), y-2, f.of(f.b)+18, y-2)
	f.path("metal", "M%.1f %.1fv-14h-7v14Z", f.at(0), y+10)
	f.box("gauge", f.of(f.a)-5, y-20, 10, 19)
	f.arrow("hand", f.of(f.b), y-26, f.of(f.b), y-6)
	f.text(f.of(f.a)-8, 20, "start", fmt.Sprintf("capo at fret %d", f.a))
	f.text(f.of(f.b)+18, 16, "end", fmt.Sprintf("press at fret %d", f.b))
	f.box("gauge", f.of(f.k)-9, y-1, 18, low-y-3)
	f.text(f.of(f.k)+16, y+14, "start", "leaf")
	f.fretName(f.k, low+20)
	f.taller(f.height-4, holdUnits)
	f.words = fmt.Sprintf("How to hold it: a capo holds the string down at fret %d, a finger presses it at fret %d, and the leaf goes between the string and the crown of fret %d.", f.a, f.b, f.k)
}

func (f *figure) holdBeam() {
	f.height = 126
	const y = 66.0
	low := f.held(y)
	f.box("gauge", f.of(f.a)-12, y-34, f.of(f.b)-f.of(f.a)+24, 14)
	for _, n := range []int{f.a, f.b} {
		f.path("gauge", "M%.1f %.1fl8 16l8 -16Z", f.of(n)-8, y-20)
	}
	f.indicator(f.of(f.k), y-34, low-3)
	f.text(f.of(f.a)-12, y-40, "start", "first foot")
	f.text(f.of(f.b)+12, y-40, "end", "second foot")
	f.text(f.of(f.k)+10, y+14, "start", "reads here")
	f.fretName(f.k, low+18)
	f.taller(f.height-2, holdUnits)
	f.words = fmt.Sprintf("How to hold it: the beam stands on crowns with both feet, strings at pitch, and reads down to the crown of fret %d.", f.k)
}

func (f *figure) holdRuler(fret int) {
	top, under := f.over(fret)
	f.ruler(208, top)
	f.path("measure dashed", "M%.1f %.1fL%.1f %.1f", 224.0, under, 340.0, under)
	f.path("line", "M340 %.1fq12 -10 24 0q-12 10 -24 0Z", under)
	f.dot("line", 352, under, 3)
	f.text(352, under-14, "middle", "eye")
	f.text(190, under-16, "end", "string open")
	f.words = fmt.Sprintf("How to hold it: the string is open; the ruler stands on the top of fret %d beside it, and the mark is read with the eye level with the string's underside.", fret)
}
