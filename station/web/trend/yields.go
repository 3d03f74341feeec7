package trend

import (
	"fmt"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// monthRow is one month of the trend's table.
type monthRow struct {
	Month        batch.Month
	Words, Link  string
	First, Final show.Yield
	Near         float64 // percent
	Commonest    string
	Signal       bool
}

// monthTests are the run tests of months: a month beyond its limits. Of few months the others would mostly tell of chance.
var monthTests = spc.TestsOf(1)

// yields draws first-pass and final yield by month and fills their table. Limits are those of the p chart over the months
// shown, turned round: a yield is the share that did not fail.
func (p *trendPage) yields(months []monthTotal) {
	var counts, sizes []float64
	var with []batch.Month // months that have a point
	for _, m := range months {
		if m.Inspected > 0 {
			counts, sizes = append(counts, float64(m.Inspected-m.FirstPass)), append(sizes, float64(m.Inspected))
			with = append(with, m.month)
		}
	}
	limits := map[batch.Month]spc.Point{}
	c, err := spc.P(counts, sizes, spc.Options{Tests: monthTests})
	if err == nil { // counts of necks never break its rules; without limits the yields still stand
		for i, point := range c.Points {
			limits[with[i]] = point
		}
		p.Signals = tell.MonthSignals(c, with)
		p.Steady = tell.MonthsBeyond(c, monthTests)
	}
	for _, m := range months {
		p.Months = append(p.Months, monthRow{
			Month: m.month, Words: tell.Month(m.month), Link: site.BehindPath(monthScope(p.Scope, m.month), batch.ByAll, "", ""), Near: m.nearShare(), Commonest: m.commonest(),
			First: show.YieldOf("First-pass yield", "", m.FirstPass, m.Inspected), Final: show.YieldOf("Final yield", "", m.FinalPass, m.Inspected), Signal: limits[m.month].Signals != 0,
		})
	}
	p.YieldChart = yieldChart(p.Months, limits)
}

// yieldChart draws the months' yields.
func yieldChart(months []monthRow, limits map[batch.Month]spc.Point) *show.Chart {
	c := show.Chart{
		ID: "yields", Tall: true, Spoken: "First-pass and final yield by month; the table has the numbers.",
		Caption: "Bars: 95 % Wilson intervals of first-pass yield. Dotted: limits within which months of these sizes stay while nothing but chance moves them (p chart, ISO 7870-2). Ringed: a signal. A point leads to its batches.",
		Y:       show.Axis{Title: "yield, %", Decimals: 1},
	}
	first, final := show.Series{Name: "first-pass yield", Kind: "both", Label: "first pass"}, show.Series{Name: "final yield", Kind: "both", Label: "final", Dashed: true}
	bars := show.Series{Name: "interval", Kind: "line", Hue: 1}
	over, under := show.Series{Name: "upper limit", Kind: "step", Quiet: true}, show.Series{Name: "lower limit", Kind: "step", Quiet: true}
	highest := 0.0
	for i, m := range months {
		x := float64(i)
		c.X.Names = append(c.X.Names, monthShort(m.Month))
		if !m.First.HasRate {
			gap := show.Point{X: x}
			first.Points, final.Points, bars.Points = append(first.Points, gap), append(final.Points, gap), append(bars.Points, gap)
			over.Points, under.Points = append(over.Points, gap), append(under.Points, gap)
			continue
		}
		at := show.Point{X: x, Y: show.Y(m.First.Rate), Link: m.Link, Words: fmt.Sprintf("%s: %.1f %% of %s passed at the first inspection (%.1f to %.1f %%)", m.Words, m.First.Rate,
			tell.Counted(m.First.Of, "neck", "necks"), m.First.Lo, m.First.Hi)}
		if m.Signal {
			at.State = "signal"
		}
		first.Points = append(first.Points, at)
		final.Points = append(final.Points, show.Point{X: x, Y: show.Y(m.Final.Rate), Link: m.Link, Words: fmt.Sprintf("%s: %.1f %% passed in the end", m.Words, m.Final.Rate)})
		bars.Points = append(bars.Points, show.Point{X: x, Y: show.Y(m.First.Lo)}, show.Point{X: x, Y: show.Y(m.First.Hi)}, show.Point{X: x})
		highest = max(highest, m.First.Hi, m.Final.Rate)
		if l, ok := limits[m.Month]; ok {
			over.Points = append(over.Points, show.Point{X: x, Y: show.Y(100 * (1 - l.Lower))})
			under.Points = append(under.Points, show.Point{X: x, Y: show.Y(100 * (1 - min(1, l.Upper)))})
			highest = max(highest, 100*(1-l.Lower))
		}
	}
	if highest > 90 {
		c.Y.Max = show.Y(100)
	}
	c.Series = []show.Series{first, bars, final, over, under}
	return &c
}
