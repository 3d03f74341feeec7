package trend

import (
	"fmt"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// behindPage lists the batches behind a number of the trend, each leading to the necks.
type behindPage struct {
	Sentence string
	Back     string // the trend that it came from
	Rows     []behindRow
	Sum      show.Yield
	SumFinal show.Yield
	Passes   bool // a yield means something: what is counted is not itself a failing
}

// behindRow is one batch.
type behindRow struct {
	Number, SpecName, Revision string
	Link                       string
	First, Final               show.Yield
}

func (s *server) behind(c *site.Request) error {
	scope, by, value := scopeOf(c), batch.Dimension(c.Query("by")), c.Query("value")
	names, err := show.GaugeNames(c.Request.Context(), s.opt.Record)
	if err != nil {
		return err
	}
	words := show.DimensionWords(by, value, names)
	which, known := show.BehindWords(by, value, words)
	if !known {
		return batch.Absent.Errorf("Necks are not counted by %q.", by)
	}
	rows, err := s.opt.Record.Behind(c.Request.Context(), scope, by, value)
	if err != nil {
		return err
	}
	p := behindPage{Back: site.TrendPath(scope, c.Query("of")), Passes: by != batch.ByReason}
	inspected, first, final := 0, 0, 0
	for _, r := range rows {
		inspected, first, final = inspected+r.Inspected, first+r.FirstPass, final+r.FinalPass
		p.Rows = append(p.Rows, behindRow{Number: r.Number, SpecName: r.SpecName, Revision: r.Revision, Link: behindLink(r.Number, by, value, c.Query("of")),
			First: show.YieldOf("First pass", "", r.FirstPass, r.Inspected), Final: show.YieldOf("Final", "", r.FinalPass, r.Inspected)})
	}
	p.Sum, p.SumFinal = show.YieldOf("First pass", "", first, inspected), show.YieldOf("Final", "", final, inspected)
	words = "first inspected"
	for _, part := range []string{tell.Months(scope.From, scope.To), which} {
		if part != "" {
			words += " " + part
		}
	}
	if scope.SpecName != "" {
		words = "of " + scopeWords(scope) + ", " + words
	}
	switch {
	case inspected == 0:
		p.Sentence = fmt.Sprintf("There is no neck %s.", words)
	case p.Passes:
		p.Sentence = fmt.Sprintf("%s in %s, %s: %.1f %% passed at the first inspection.", tell.Counted(inspected, "neck", "necks"), tell.Counted(len(rows), "batch", "batches"), words, p.Sum.Rate)
	default:
		p.Sentence = fmt.Sprintf("%s in %s, %s.", tell.Counted(inspected, "neck", "necks"), tell.Counted(len(rows), "batch", "batches"), words)
	}
	return c.Show(http.StatusOK, "behind", "Batches behind the trend", p)
}

// behindLink leads to a batch's necks of that value, or to its chart of the characteristic.
func behindLink(number string, d batch.Dimension, value, of string) string {
	if link := site.NecksPath(number, d, value); link != "" {
		return link
	}
	switch {
	case of != "":
		return site.ChartPath(number, of)
	case d == batch.ByAll:
		return site.BatchPath(number) + "/necks"
	}
	return site.BatchPath(number)
}
