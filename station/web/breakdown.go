package web

import (
	"context"

	"sagitta/batch"
	"sagitta/station/web/show"
)

// gaugeNames are the names of all gauges by ID.
func (s *server) gaugeNames(ctx context.Context) (map[string]string, error) {
	gauges, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, g := range gauges {
		names[g.ID] = g.Name
	}
	return names, nil
}

// breakdowns reads how a scope's first inspections went by every dimension; link leads to the necks behind a row. A
// dimension with a single value says nothing and is left out.
func (s *server) breakdowns(ctx context.Context, scope batch.Scope, link func(d batch.Dimension, value string) string) ([]show.Breakdown, error) {
	names, err := s.gaugeNames(ctx)
	if err != nil {
		return nil, err
	}
	var all []show.Breakdown
	for _, d := range show.Dimensions {
		shares, err := s.opt.Record.Breakdown(ctx, scope, d.Of)
		if err != nil {
			return nil, err
		}
		if len(shares) == 0 || (len(shares) == 1 && d.Of != batch.ByInspector) {
			continue
		}
		out := show.Breakdown{Title: d.Title, Head: d.Head}
		for _, sh := range shares {
			row := show.BreakdownRow{Name: show.DimensionWords(d.Of, sh.Value, names), First: show.YieldOf(d.Title, "", sh.FirstPass, sh.Inspected)}
			row.Link = link(d.Of, sh.Value)
			row.Apart = show.ApartWords(sh, shares, d.Of)
			out.Rows = append(out.Rows, row)
		}
		all = append(all, out)
	}
	return all, nil
}
