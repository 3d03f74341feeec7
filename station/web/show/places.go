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
	InDoubt                      int // values, left out or not
	Drift                        string
	Signals                      int
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
			Nonconforming: r.Nonconforming, Near: r.Near, Missing: r.NotMeasured, InDoubt: r.InDoubt, ppk: math.Inf(1), PP: "–", PPK: "–"}
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
	Healthiest(out)
	return out
}

// Healthiest sorts characteristics, the least healthy first: those with a signal, then the others, either the least capable first.
func Healthiest(rows []PlaceRow) {
	slices.SortStableFunc(rows, func(a, b PlaceRow) int {
		return cmp.Or(cmp.Compare(min(b.Signals, 1), min(a.Signals, 1)), cmp.Compare(a.ppk, b.ppk))
	})
}

// indices follow from the moments kept with the record; a Ppk that goes by the share judged nonconforming says so.
func (p *PlaceRow) indices(r batch.CharacteristicRow, sd float64, lower, upper *float64) {
	of := spc.Outline{N: r.N, Mean: r.Mean, SD: sd, Outside: r.Nonconforming, Limits: spc.Limits{Lower: lower, Upper: upper}, Bounded: !inspect.KindOf(r.Name).Signed}.Performance(Confidence)
	switch {
	case of.Index != nil:
		p.ppk = *of.Index
	case of.Basis == spc.ByCount && r.Nonconforming == 0:
		p.ppk = of.Low
	default:
		return
	}
	p.PPK = IndexWords(of)
	if of.Basis == spc.ByNormal && upper != nil && lower != nil {
		p.PP = Fixed((*upper-*lower)/(6*sd), 2, false)
	}
}

// IndexWords writes an index: "1.21", "0.57 counted", "from 0.95 counted" where nothing was outside, a dash where there is none.
func IndexWords(p spc.Performance) string {
	switch {
	case p.Index != nil && p.Basis == spc.ByCount:
		return Fixed(*p.Index, 2, false) + " counted"
	case p.Index != nil:
		return Fixed(*p.Index, 2, false)
	case p.Basis == spc.ByCount && math.IsInf(p.High, 1):
		return "from " + Fixed(p.Low, 2, false) + " counted"
	}
	return "–"
}
