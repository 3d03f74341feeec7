package routine

import (
	"slices"

	"sagitta/batch"
	"sagitta/inspect"
)

// Carry has an attempt ask only for what may not be carried over from one before. all is its whole routine; what the points asked for tell anew is
// not carried.
func (a *Attempt) Carry(all []Point, may []inspect.Characteristic) {
	a.Routine, a.Carried = all, nil
	if len(may) == 0 {
		return
	}
	asked := inspect.Asked(a.Spec, may)
	a.Carried = slices.DeleteFunc(slices.Clone(may), func(c inspect.Characteristic) bool {
		return inspect.ToldAnew(a.Spec, c, asked)
	})
	if len(a.Carried) == 0 {
		return
	}
	a.Routine = slices.DeleteFunc(slices.Clone(all), func(p Point) bool {
		ref := inspect.PointRef{Kind: string(p.Point.Kind), Track: p.Point.Track, Fret: p.Point.Fret, String: p.Point.String, HeldFret: p.Point.HeldFret}
		return p.Point.Kind != batch.PitchDeclared && !asked(ref)
	})
}
