package trend

import (
	"fmt"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// reasonMonth is one month's rejections by reason.
type reasonMonth struct {
	Words, Link string
	Inspected   int
	Failed      int
	Necks       []int // by reason, in the order of the heads
}

// mostReasons is how many reasons are followed over the months; the Pareto diagram has them all.
const mostReasons = 5

// reasons orders what failed first over the whole period and follows the commonest month by month, as a share of the
// necks inspected.
func (p *trendPage) reasons(months []monthTotal) {
	var sum total
	for i := range months {
		for name, n := range months[i].reasons {
			if sum.reasons == nil {
				sum.reasons = map[string]int{}
			}
			sum.reasons[name] += n
		}
	}
	p.Reasons = show.ParetoOf(sum.list(), func(name string) string { return site.BehindPath(p.Scope, batch.ByReason, name, "") })
	p.ReasonChart = show.ParetoChart("reasons-chart", p.Reasons, "necks whose first inspection failed, by the first failing characteristic")
	if len(p.Reasons) == 0 {
		return
	}
	followed := p.Reasons[:min(mostReasons, len(p.Reasons))]
	c := show.Chart{ID: "reasons-trend", Caption: "Share of the necks inspected in a month that failed first by each of the commonest reasons. A point leads to its batches.",
		Spoken: "Share of rejections by reason and month; the table has the numbers.", Y: show.Axis{Title: "necks inspected, %", Decimals: 1, Min: show.Y(0)}}
	lines := make([]show.Series, len(followed))
	for i, r := range followed {
		p.ReasonHeads = append(p.ReasonHeads, tell.Upper(r.Name))
		lines[i] = show.Series{Name: r.Name, Kind: "both", Hue: i + 1, Dashed: i%2 == 1, Label: r.Name}
	}
	for x, m := range months {
		c.X.Names = append(c.X.Names, monthShort(m.month))
		scope := monthScope(p.Scope, m.month)
		row := reasonMonth{Words: tell.Month(m.month), Link: site.BehindPath(scope, batch.ByAll, "", ""), Inspected: m.Inspected, Failed: m.Inspected - m.FirstPass}
		for i, r := range followed {
			n := m.total.reasons[r.Key]
			row.Necks = append(row.Necks, n)
			point := show.Point{X: float64(x)}
			if m.Inspected > 0 {
				rate := 100 * float64(n) / float64(m.Inspected)
				point.Y, point.Link = show.Y(rate), site.BehindPath(scope, batch.ByReason, r.Key, "")
				point.Words = fmt.Sprintf("%s, %s: %s, %.1f %% of those inspected", inspect.Name(r.Key), tell.Month(m.month), tell.Counted(n, "neck", "necks"), rate)
			}
			lines[i].Points = append(lines[i].Points, point)
		}
		p.ReasonRows = append(p.ReasonRows, row)
	}
	c.Series = lines
	p.ReasonTrend = &c
}
