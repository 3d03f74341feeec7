package trend

import (
	"cmp"
	"fmt"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// kindRow is one model's revision.
type kindRow struct {
	Model, Revision string
	Link            string
	First, Final    show.Yield
	Near            float64 // percent
	Commonest       string
	Apart           string
}

// mostLines is how many lines one chart carries, one hue each.
const mostLines = 6

// kinds compares models, or a model's revisions.
func (p *trendPage) kinds(rows []batch.TrendRow) {
	type kind struct{ model, revision string }
	var order []kind
	sums := map[kind]*total{}
	var shares, all []batch.StratumShare
	for _, r := range rows {
		k := kind{r.SpecName, r.Revision}
		if sums[k] == nil {
			sums[k] = &total{}
			order = append(order, k)
		}
		sums[k].add(r)
		sh := batch.StratumShare{Stratum: batch.Stratum{Month: r.Month}, Inspected: r.Inspected, FirstPass: r.FirstPass}
		all = append(all, sh)
		sh.Value = k.model + "\n" + k.revision
		shares = append(shares, sh)
	}
	slices.SortFunc(order, func(a, b kind) int { return cmp.Or(cmp.Compare(a.model, b.model), cmp.Compare(a.revision, b.revision)) })
	contrasts := map[string]batch.Contrast{}
	strict := (1 - show.Confidence) / float64(max(1, len(order)))
	for _, c := range batch.ContrastsOf(shares, all, 1-strict) {
		contrasts[c.Value] = c
	}
	for _, k := range order {
		t := sums[k]
		scope := p.Scope
		scope.SpecName, scope.Revision = k.model, k.revision
		p.Kinds = append(p.Kinds, kindRow{
			Model: k.model, Revision: k.revision, Link: site.TrendPath(scope, ""), First: show.YieldOf("First pass", "", t.FirstPass, t.Inspected),
			Final: show.YieldOf("Final", "", t.FinalPass, t.Inspected), Near: t.nearShare(), Commonest: t.commonest(), Apart: tell.Apart(contrasts[k.model+"\n"+k.revision], strict, nil),
		})
	}
	lines := map[string][]batch.TrendRow{}
	var names []string
	for _, r := range rows {
		name := r.SpecName
		if p.Scope.SpecName != "" {
			name = "revision " + r.Revision
		}
		if lines[name] == nil {
			names = append(names, name)
		}
		lines[name] = append(lines[name], r)
	}
	if len(names) > 1 && len(names) <= mostLines {
		p.KindChart = kindChart(p.Scope, names, lines)
	}
}

// kindChart draws first-pass yield by month, one line for each name.
func kindChart(scope batch.Scope, names []string, rows map[string][]batch.TrendRow) *show.Chart {
	c := show.Chart{ID: "kinds", Caption: "First-pass yield by month. A point leads to its batches.", Spoken: "First-pass yield by month and model; the table has the numbers of the whole period.", Y: show.Axis{Title: "first-pass yield, %", Decimals: 1}}
	for m := scope.From; m <= scope.To; m = monthsAway(m, 1) {
		c.X.Names = append(c.X.Names, monthShort(m))
	}
	highest := 0.0
	for i, name := range names {
		months := map[batch.Month]*total{}
		for _, r := range rows[name] {
			if months[r.Month] == nil {
				months[r.Month] = &total{}
			}
			months[r.Month].add(r)
		}
		line := show.Series{Name: name, Kind: "both", Hue: i + 1, Dashed: i%2 == 1, Label: name}
		within := scope
		if r := rows[name][0]; scope.SpecName != "" {
			within.Revision = r.Revision
		} else {
			within.SpecName = r.SpecName
		}
		x := 0.0
		for m := scope.From; m <= scope.To; m, x = monthsAway(m, 1), x+1 {
			point := show.Point{X: x}
			if t := months[m]; t != nil {
				rate := 100 * float64(t.FirstPass) / float64(t.Inspected)
				highest = max(highest, rate)
				point.Y, point.Link = show.Y(rate), site.BehindPath(monthScope(within, m), batch.ByAll, "", "")
				point.Words = fmt.Sprintf("%s, %s: %.1f %% of %s", name, tell.Month(m), rate, tell.Counted(t.Inspected, "neck", "necks"))
			}
			line.Points = append(line.Points, point)
		}
		c.Series = append(c.Series, line)
	}
	if highest > 90 {
		c.Y.Max = show.Y(100)
	}
	return &c
}
