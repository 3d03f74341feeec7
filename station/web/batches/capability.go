package batches

import (
	"fmt"
	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
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
