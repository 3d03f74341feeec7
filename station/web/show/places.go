package show

import (
	"cmp"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// LimitsIn finds the limits of a characteristic in a specification: a named index beats "each".
func LimitsIn(spec *inspect.Spec) func(batch.Named) (lower, upper *float64) {
	return func(n batch.Named) (lower, upper *float64) {
		if l := spec.LimitFor(inspect.Characteristic{Name: n.Name, Track: n.Track, String: n.String, Fret: n.Fret, HeldFret: n.HeldFret}); l != nil {
			lower, _, upper = l.Bounds()
		}
		return lower, upper
	}
}

// PlaceRow is one characteristic in the table of all: what is known without its single values.
type PlaceRow struct {
	Key, Name, Unit              string
	N                            int
	Mean, SD, Lower, Upper       string
	PP, PPK                      string
	Nonconforming, Near, Missing int
	ppk                          float64
}

// SortPPK is what its column is sorted by.
func (p PlaceRow) SortPPK() float64 { return min(p.ppk, 1e9) }

// PlacesOf lists the limited characteristics of a batch, the least capable first. Limits are those of the batch's
// specification.
func PlacesOf(spec *inspect.Spec, rows []batch.CharacteristicRow, limits func(batch.Named) (lower, upper *float64), lengths unit.Unit) []PlaceRow {
	out := make([]PlaceRow, 0, len(rows))
	for _, r := range rows {
		lower, upper := limits(r.Named)
		p := PlaceRow{Key: r.Named.Key(), Name: SeriesWords(spec, r.Named), Unit: UnitOf(r.Unit, lengths), N: r.N,
			Nonconforming: r.Nonconforming, Near: r.Near, Missing: r.NotMeasured, ppk: math.Inf(1), PP: "–", PPK: "–"}
		if r.N > 0 {
			p.Mean = Value(r.Mean, r.Unit, lengths, inspect.KindOf(r.Name).Signed)
		}
		if lower != nil {
			p.Lower = Value(*lower, r.Unit, lengths, false)
		}
		if upper != nil {
			p.Upper = Value(*upper, r.Unit, lengths, false)
		}
		if sd, ok := r.SD(); ok {
			p.SD = Value(sd, r.Unit, lengths, false)
			p.indices(r, sd, lower, upper)
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(a, b PlaceRow) int { return cmp.Compare(a.ppk, b.ppk) })
	return out
}

// indices follow from the moments kept with the record where a Normal distribution may be taken for granted: with two limits, and
// away from the 0 that bounds what is never below it (ISO 22514-2:2017). Elsewhere Ppk is that of a Normal process with the share
// that was judged nonconforming, and says so.
func (p *PlaceRow) indices(r batch.CharacteristicRow, sd float64, lower, upper *float64) {
	switch {
	case lower == nil && upper == nil:
	case lower == nil || upper == nil || !inspect.KindOf(r.Name).Signed && spc.NearZero(r.Mean, sd):
		at, low, _ := spc.CountedIndex(min(r.Nonconforming, r.N), r.N, Confidence)
		if at != nil {
			p.PPK, p.ppk = Fixed(*at, 2, false)+" counted", *at
		} else if r.Nonconforming == 0 {
			p.PPK, p.ppk = "from "+Fixed(low, 2, false)+" counted", low
		}
	default:
		pp, ppk := spc.Limits{Lower: lower, Upper: upper}.Indices(r.Mean-3*sd, r.Mean, r.Mean+3*sd)
		if pp != nil {
			p.PP = Fixed(*pp, 2, false)
		}
		if ppk != nil {
			p.PPK, p.ppk = Fixed(*ppk, 2, false), *ppk
		}
	}
}
