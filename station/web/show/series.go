package show

import (
	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// SeriesWords names a characteristic for people, with its datum where the specification is known.
func SeriesWords(spec *inspect.Spec, n batch.Named) string {
	return inspect.Words(spec, inspect.Characteristic{Name: n.Name, Track: n.Track, String: n.String, Fret: n.Fret, HeldFret: n.HeldFret, Unit: n.Unit})
}

// UnitOf is the unit that values of a characteristic are shown in.
func UnitOf(in string, lengths unit.Unit) string {
	if in == "mm" {
		return lengths.String()
	}
	return in
}

// InUnit is a value of a characteristic in the unit it is shown in.
func InUnit(v float64, in string, lengths unit.Unit) float64 {
	if in == "mm" {
		return lengths.From(v)
	}
	return v
}

// ScaleOf is how values of a characteristic are told.
func ScaleOf(in string, lengths unit.Unit) tell.Scale { return tell.Scale{Of: in, In: lengths} }

// Decimals are the decimals of a characteristic's values.
func Decimals(in string, lengths unit.Unit) int { return ScaleOf(in, lengths).Decimals() }

// ValuesOf are the numbers of measured points.
func ValuesOf(points []batch.SeriesPoint) []float64 {
	x := make([]float64, len(points))
	for i, p := range points {
		x[i] = *p.Value
	}
	return x
}

// LimitMarks are the specification's limits and target, of the newest point that has them.
func LimitMarks(points []batch.SeriesPoint, in string, lengths unit.Unit, along bool) []Mark {
	last := points[len(points)-1]
	var marks []Mark
	for _, m := range []struct {
		at          *float64
		words, kind string
	}{{last.Lower, tell.LowerLimit + " ", "limit"}, {last.Target, "target ", "target"}, {last.Upper, tell.UpperLimit + " ", "limit"}} {
		if m.at != nil {
			marks = append(marks, Mark{At: InUnit(*m.at, in, lengths), Words: m.words + Value(*m.at, in, lengths, false), Kind: m.kind, Along: along})
		}
	}
	return marks
}
