package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/show"
)

// capabilityView is how a characteristic's first measurements lie between the limits.
type capabilityView struct {
	Sentence string
	Rows     [][2]string
	Why      []string // what to know of these numbers
	Problem  string
}

// capabilityOf judges first measurements against the newest limits.
func capabilityOf(named batch.Named, title string, points []batch.SeriesPoint, lengths unit.Unit) capabilityView {
	if len(points) < 2 {
		return capabilityView{Problem: "Capability needs at least two necks with this value."}
	}
	last := points[len(points)-1]
	if last.Lower == nil && last.Upper == nil {
		return capabilityView{Problem: "This characteristic has no limit to be capable of."}
	}
	x := show.ValuesOf(points)
	r, err := spc.Capability(x, spc.CapabilityOptions{Limits: spc.Limits{Lower: last.Lower, Upper: last.Upper}, Target: last.Target})
	if err != nil {
		return capabilityView{Problem: "There is no capability: " + err.Error() + "."}
	}
	in := named.Unit
	number := func(v float64) string { return show.Value(v, in, lengths, false) + " " + show.UnitOf(in, lengths) }
	v := capabilityView{Rows: [][2]string{{"Outside the limits, counted", tell.Outside(r)}}}
	if expected := tell.Expected(r); expected != "" {
		v.Rows = append(v.Rows, [2]string{"Outside the limits, predicted", expected})
	}
	v.Rows = append(v.Rows, [2]string{"Necks", fmt.Sprint(r.N)}, [2]string{"Mean", number(r.Mean)},
		[2]string{tell.Upper(tell.SigmaInside) + ", from moving ranges", number(r.SigmaWithin)}, [2]string{tell.Upper(tell.SigmaOfAll), number(r.SigmaOverall)})
	for _, line := range tell.Indices(r) {
		v.Rows = append(v.Rows, [2]string{line.Name + ", " + line.Of, line.Index + " (95 % interval " + line.Interval + ")"})
	}
	if r.Normality != nil {
		v.Rows = append(v.Rows, [2]string{"Test of normality", tell.Normality(*r.Normality)})
	}
	if p := r.Percentile; p != nil {
		v.Rows = append(v.Rows, [2]string{"Pp, Ppk by percentiles, " + tell.Distribution(p.Distribution), tell.Figure(p.PP) + ", " + tell.Figure(p.PPK)})
	}
	v.Sentence, v.Why = tell.Capability(r, title, "neck")
	return v
}

// placeRow is one characteristic in the table of all: what is known without its single values.
type placeRow struct {
	Key, Name, Unit              string
	N                            int
	Mean, SD, Lower, Upper       string
	PP, PPK                      string
	Nonconforming, Near, Missing int
	ppk                          float64
}

// placesOf lists the limited characteristics of a batch, the least capable first. Limits are those of the batch's
// specification; Pp and Ppk follow from the moments kept beside the record (ISO 22514-2:2017).
func placesOf(spec *inspect.Spec, rows []batch.CharacteristicRow, limits func(batch.Named) (lower, upper *float64), lengths unit.Unit) []placeRow {
	out := make([]placeRow, 0, len(rows))
	for _, r := range rows {
		lower, upper := limits(r.Named)
		p := placeRow{Key: r.Named.Key(), Name: show.SeriesWords(spec, r.Named), Unit: show.UnitOf(r.Unit, lengths), N: r.N,
			Nonconforming: r.Nonconforming, Near: r.Near, Missing: r.NotMeasured, ppk: math.Inf(1), PP: "–", PPK: "–"}
		if r.N > 0 {
			p.Mean = show.Value(r.Mean, r.Unit, lengths, inspect.KindOf(r.Name).Signed)
		}
		if lower != nil {
			p.Lower = show.Value(*lower, r.Unit, lengths, false)
		}
		if upper != nil {
			p.Upper = show.Value(*upper, r.Unit, lengths, false)
		}
		if sd, ok := r.SD(); ok {
			p.SD = show.Value(sd, r.Unit, lengths, false)
			pp, ppk := spc.Limits{Lower: lower, Upper: upper}.Indices(r.Mean-3*sd, r.Mean, r.Mean+3*sd)
			if pp != nil {
				p.PP = show.Fixed(*pp, 2, false)
			}
			if ppk != nil {
				p.PPK, p.ppk = show.Fixed(*ppk, 2, false), *ppk
			}
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(a, b placeRow) int { return cmp.Compare(a.ppk, b.ppk) })
	return out
}
