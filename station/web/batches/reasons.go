package batches

import (
	"fmt"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// reasonsPage is what failed at the first inspections.
type reasonsPage struct {
	batchHead
	Reasons     []show.ReasonRow // by the characteristic that failed first
	ReasonChart *show.Chart
	Failing     []show.ReasonRow // by every characteristic that failed
	AllChart    *show.Chart
	Rolled      string // sentence: the rolled throughput yield over the characteristics
	Near        string // sentence: how many verdicts rest on less than U
	NearLink    string
}

// firstReasons are the characteristics that failed first, with the necks behind them.
func firstReasons(b batch.Batch, counts batch.Counts) []show.ReasonRow {
	return show.ParetoOf(counts.Reasons, func(name string) string { return site.NecksPath(b.Number, batch.ByReason, name) })
}

func (s *server) reasonsPage(c *site.Request) error {
	h, err := s.headOf(c, "reasons")
	if err != nil {
		return err
	}
	b, counts, ctx, scope := h.Batch, h.Firsts, c.Request.Context(), h.scope()
	p := reasonsPage{batchHead: h, Reasons: firstReasons(b, counts)}
	p.ReasonChart = show.ParetoChart("reasons-chart", p.Reasons, "necks whose first inspection failed, by the first failing characteristic")
	rows, err := s.opt.Record.Characteristics(ctx, scope, "", batch.SplitNone)
	if err != nil {
		return err
	}
	failing, err := s.opt.Record.Breakdown(ctx, scope, batch.ByFailing)
	if err != nil {
		return err
	}
	var reasons []batch.Reason
	for _, f := range failing {
		reasons = append(reasons, batch.Reason{Name: f.Value, Necks: f.Inspected})
	}
	p.Failing = show.ParetoOf(reasons, func(name string) string { return site.NecksPath(b.Number, batch.ByFailing, name) })
	p.AllChart = show.ParetoChart("failing-chart", p.Failing, "every characteristic that failed at a first inspection; a neck may stand under several")
	if p.Rolled, err = rolledWords(rows, reasons, counts.Inspected); err != nil {
		return err
	}
	near, err := s.opt.Record.Breakdown(ctx, scope, batch.ByNear)
	if err != nil {
		return err
	}
	n := 0
	for _, v := range near {
		n += v.Inspected
	}
	if counts.Inspected > 0 {
		p.Near = fmt.Sprintf("%d of %d first verdicts (%s %%) rest on a value that lies within its own U of a limit: measured again, they might turn out otherwise. The table of characteristics counts every value so near a limit, also on a neck whose verdict rests on another, further out.",
			n, counts.Inspected, show.Fixed(100*float64(n)/float64(counts.Inspected), 1, false))
		p.NearLink = site.NecksPath(b.Number, batch.ByNear, "near")
	}
	return c.Show(http.StatusOK, "batchreasons", h.title(), p)
}

// rolledWords says the rolled throughput yield: the limited characteristics, by name, are the steps that a neck must pass.
func rolledWords(rows []batch.CharacteristicRow, failing []batch.Reason, inspected int) (string, error) {
	if inspected == 0 || len(rows) == 0 { // a visit stands in no statistics
		return "", nil
	}
	failed := map[string]int{}
	for _, f := range failing {
		failed[f.Name] = f.Necks
	}
	var steps []spc.Step
	named := map[string]bool{}
	for _, r := range rows {
		if !named[r.Name] {
			named[r.Name] = true
			steps = append(steps, spc.Step{Units: inspected, Passed: max(0, inspected-failed[r.Name])})
		}
	}
	y, err := spc.RolledYield(steps)
	if err != nil || y.Rolled == nil {
		return "", err
	}
	return fmt.Sprintf("Rolled throughput yield over %s: %s %%, the product of each one's share of necks that did not fail in it at first.",
		tell.Counted(len(steps), "kind of limit", "kinds of limits"), show.Fixed(100**y.Rolled, 1, false)), nil
}
