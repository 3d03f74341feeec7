package web

import (
	"fmt"
)

// paretoChart draws reasons from the commonest with the cumulative line over them.
func paretoChart(id string, rows []reasonRow, what string) *chart {
	if len(rows) == 0 {
		return nil
	}
	c := chart{
		ID: id, Caption: fmt.Sprintf("Bars: %s. Line: running share of all of them. A bar leads to its necks.", what),
		Spoken: fmt.Sprintf("Pareto diagram of %d characteristics; the table has the numbers.", len(rows)),
		Y:      chartAxis{Title: "necks", Whole: true, Min: numbersY(0)},
		Right:  &chartAxis{Title: "running total, %", Min: numbersY(0), Max: numbersY(100)},
	}
	bars, line := chartSeries{Name: "necks", Kind: "bars"}, chartSeries{Name: "running total", Kind: "both", Right: true}
	for i, r := range rows {
		c.X.Names = append(c.X.Names, r.Name)
		b := chartPoint{X: float64(i), Y: numbersY(float64(r.Necks)), Words: fmt.Sprintf("%s: %s, %.1f %%", r.Name, counted(r.Necks, "neck", "necks"), r.Share), Link: r.Link}
		if i == 0 {
			b.State = "nonconforming"
		}
		bars.Points = append(bars.Points, b)
		line.Points = append(line.Points, chartPoint{X: float64(i), Y: numbersY(r.Cumulative), Words: fmt.Sprintf("up to %s: %.1f %%", r.Name, r.Cumulative)})
	}
	c.Series = []chartSeries{bars, line}
	return &c
}
