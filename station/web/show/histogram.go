package show

import (
	"fmt"
	"math"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
)

// HistogramRow is one class of a histogram: from its lower end up to, not including, its upper end.
type HistogramRow struct {
	From, To   float64
	Necks      int
	Nonconform bool // it lies outside the limits
}

// Classes counts values in classes of equal width, the width by Freedman and Diaconis: 2 IQR n^(-1/3), at least the
// resolution, 5 to 60 classes. A limit is always a class's end, so that no class is half outside. Source of the width:
// D. Freedman, P. Diaconis, Zeitschrift fuer Wahrscheinlichkeitstheorie 57 (1981) 453-476.
func Classes(x []float64, lower, upper *float64, resolution float64) []HistogramRow {
	if len(x) == 0 {
		return nil
	}
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	low, high := sorted[0], sorted[len(sorted)-1]
	quartile := func(p float64) float64 { return sorted[min(len(sorted)-1, int(p*float64(len(sorted))))] }
	width := 2 * (quartile(0.75) - quartile(0.25)) / math.Cbrt(float64(len(x)))
	width = max(width, (high-low)/60, resolution)
	if (high-low)/width < 5 {
		width = max((high-low)/5, resolution)
	}
	start := math.Floor(low/width) * width
	switch { // a class begins at a limit
	case lower != nil && upper != nil && *upper > *lower:
		n := max(1, math.Round((*upper-*lower)/width))
		width = (*upper - *lower) / n
		start = *lower
	case lower != nil:
		start = *lower
	case upper != nil:
		start = *upper
	}
	start += math.Floor((low-start)/width) * width
	rows := make([]HistogramRow, min(200, int((high-start)/width)+1))
	for i := range rows {
		rows[i].From, rows[i].To = start+float64(i)*width, start+float64(i+1)*width
		mid := start + (float64(i)+0.5)*width
		rows[i].Nonconform = (lower != nil && mid < *lower) || (upper != nil && mid > *upper)
	}
	for _, v := range x {
		i := int(math.Floor((v - start) / width * (1 + 1e-12)))
		if upper != nil && v == *upper { // the bound conforms
			i = int(math.Round((*upper-start)/width)) - 1
		}
		rows[min(max(i, 0), len(rows)-1)].Necks++
	}
	return rows
}

// HistogramOf draws the distribution of first measurements with the limits.
func HistogramOf(named batch.Named, title string, points []batch.SeriesPoint, lengths unit.Unit) (*Chart, []HistogramRow) {
	if len(points) == 0 {
		return nil, nil
	}
	last := points[len(points)-1]
	in := named.Unit
	rows := Classes(ValuesOf(points), last.Lower, last.Upper, math.Pow10(-Decimals(in, unit.Millimetre)))
	c := Chart{
		ID: "histogram", Caption: "First measurements. Coloured classes lie outside the specification.", Spoken: "Histogram of " + title + "; the table has the numbers.",
		X: Axis{Title: title + ", " + UnitOf(in, lengths), Decimals: Decimals(in, lengths)}, Y: Axis{Title: "necks", Whole: true, Min: Y(0)},
		Marks: LimitMarks(points, in, lengths, true),
	}
	bars := Series{Name: "necks", Kind: "bars"}
	for _, r := range rows {
		p := Point{X: InUnit((r.From+r.To)/2, in, lengths), Y: Y(float64(r.Necks)),
			Words: fmt.Sprintf("%s to %s: %s", Value(r.From, in, lengths, false), Value(r.To, in, lengths, false), tell.Counted(r.Necks, "neck", "necks"))}
		if r.Nonconform {
			p.State = "nonconforming"
		}
		bars.Points = append(bars.Points, p)
	}
	c.Series = []Series{bars}
	return &c, rows
}
