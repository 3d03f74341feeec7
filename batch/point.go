package batch

import "sagitta/inspect"

// PointOf is the measuring point that inspect names.
func PointOf(ref inspect.PointRef) Point {
	p := Point{Kind: Kind(ref.Kind), Track: ref.Track, Fret: ref.Fret, String: ref.String, HeldFret: ref.HeldFret}
	if p.Kind == NutHeight {
		p.Fret = 0 // over fret 1 always
	}
	return p
}
