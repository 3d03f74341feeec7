package web

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/inspect"
	"sagitta/inspect/unit"
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
	x := valuesOf(points)
	r, err := spc.Capability(x, spc.CapabilityOptions{Limits: spc.Limits{Lower: last.Lower, Upper: last.Upper}, Target: last.Target})
	if err != nil {
		return capabilityView{Problem: "There is no capability: " + err.Error() + "."}
	}
	in := named.Unit
	number := func(v float64) string { return valueIn(v, in, lengths, false) + " " + shownUnit(in, lengths) }
	v := capabilityView{Rows: [][2]string{
		{"Necks", fmt.Sprint(r.N)}, {"Mean", number(r.Mean)}, {"Sigma within, from moving ranges", number(r.SigmaWithin)}, {"Sigma overall", number(r.SigmaOverall)},
		{"Cp, potential", indexWords(r.CP, r.CI.CP)}, {"Cpk", indexWords(r.CPK, r.CI.CPK)}, {"Pp, overall", indexWords(r.PP, r.CI.PP)}, {"Ppk", indexWords(r.PPK, r.CI.PPK)},
		{"Outside the limits, counted", fmt.Sprintf("%d of %d (%s per million)", r.Below+r.Above, r.N, fixed(1e6*float64(r.Below+r.Above)/float64(r.N), 0, false))},
	}}
	if r.Expected != nil {
		v.Rows = append(v.Rows, [2]string{"Outside the limits, predicted from a Normal process", fixed(*r.Expected, 0, false) + " per million"})
	}
	if r.Normality != nil {
		v.Rows = append(v.Rows, [2]string{"Anderson-Darling test of normality", fmt.Sprintf("A² = %.3f, p = %s", r.Normality.Statistic, digits(r.Normality.P))})
	}
	if p := r.Percentile; p != nil {
		v.Rows = append(v.Rows, [2]string{"Pp, Ppk by percentiles, " + string(p.Distribution), figureWords(p.PP) + ", " + figureWords(p.PPK)})
	}
	v.Sentence = capabilitySentence(title, r.PPK)
	if r.N < spc.FewForCapability {
		v.Why = append(v.Why, fmt.Sprintf("Only %d necks: fewer than %d say little of a process.", r.N, spc.FewForCapability))
	}
	if r.Normality != nil && r.Normality.P < 0.05 {
		words := "The values are not Normal (p below 0.05): the predicted share outside, Cpk and Ppk are rough"
		if r.Percentile != nil {
			words += "; the percentile method fits"
		}
		v.Why = append(v.Why, words+".")
	}
	return v
}

// capable is the index that a process is usually asked for: common practice, no source.
const capable = 1.33

// capabilitySentence answers whether the process fits its limits.
func capabilitySentence(title string, ppk *float64) string {
	switch {
	case ppk == nil:
		return title + " shows no spread, so no index can be given."
	case *ppk >= capable:
		return fmt.Sprintf("%s fits its limits: Ppk %.2f, %.2f is usually asked for.", title, *ppk, capable)
	case *ppk >= 1:
		return fmt.Sprintf("%s just fits its limits: Ppk %.2f, %.2f is usually asked for.", title, *ppk, capable)
	}
	return fmt.Sprintf("%s does not fit its limits: Ppk %.2f.", title, *ppk)
}

// indexWords is an index with its interval.
func indexWords(v *float64, in *spc.Interval) string {
	switch {
	case v == nil:
		return "–"
	case in == nil:
		return fmt.Sprintf("%.2f", *v)
	}
	return fmt.Sprintf("%.2f (95 %% interval %.2f to %.2f)", *v, in[0], in[1])
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
		p := placeRow{Key: r.Named.Key(), Name: seriesWords(spec, r.Named), Unit: shownUnit(r.Unit, lengths), N: r.N,
			Nonconforming: r.Nonconforming, Near: r.Near, Missing: r.NotMeasured, ppk: math.Inf(1), PP: "–", PPK: "–"}
		if r.N > 0 {
			p.Mean = valueIn(r.Mean, r.Unit, lengths, signedByNature(r.Name))
		}
		if lower != nil {
			p.Lower = valueIn(*lower, r.Unit, lengths, false)
		}
		if upper != nil {
			p.Upper = valueIn(*upper, r.Unit, lengths, false)
		}
		if sd, ok := r.SD(); ok {
			p.SD = valueIn(sd, r.Unit, lengths, false)
			pp, ppk := spc.Limits{Lower: lower, Upper: upper}.Indices(r.Mean-3*sd, r.Mean, r.Mean+3*sd)
			if pp != nil {
				p.PP = fixed(*pp, 2, false)
			}
			if ppk != nil {
				p.PPK, p.ppk = fixed(*ppk, 2, false), *ppk
			}
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(a, b placeRow) int { return cmp.Compare(a.ppk, b.ppk) })
	return out
}
