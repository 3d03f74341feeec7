// Package trend is the pages that look across batches: yields, reasons and characteristics by month, the batches behind each
// number, and two batches, inspectors, shifts, months, gauges or revisions compared.
package trend

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"slices"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	Trend(ctx context.Context, s batch.Scope) ([]batch.TrendRow, error)
	Behind(ctx context.Context, s batch.Scope, by batch.Dimension, value string) ([]batch.BatchShare, error)
	Strata(ctx context.Context, s batch.Scope) (batch.Strata, error)
	Characteristics(ctx context.Context, s batch.Scope, name string, split batch.Split) ([]batch.CharacteristicRow, error)
	SetValues(ctx context.Context, s batch.Scope, by batch.Dimension, a, b string, newest int) ([2][]batch.ValueStratum, error)
	Batch(ctx context.Context, number string) (batch.Batch, error)
	Specs(ctx context.Context) ([]batch.SpecRevision, error)
	Gauges(ctx context.Context) ([]batch.Gauge, error)
}

// Options are what the pages read.
type Options struct {
	Record Record
	Shifts []time.Duration // after midnight, when shifts begin; fewer than two: before and after noon are compared
	Now    func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Trend", files, template.FuncMap{"scopeFields": scopeFields})
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	for _, l := range layers {
		g.GET(l.Path, func(c *site.Request) error { return s.trend(c, l) })
	}
	g.GET("/trend/batches", s.behind)
	g.GET("/compare", s.compare)
	return nil
}

// trendMonths is how many months the trend shows unless others are asked for.
const trendMonths = 24

// layer is a part of the trend with an address of its own.
type layer struct {
	Path, Title string
	page        string // name of its template
	read        func(s *server, c *site.Request, p *trendPage, rows []batch.TrendRow, months []monthTotal) error
}

// layers are in the order of every navigation, the answer first.
var layers = []layer{
	{"/trend", "Yield", "trend", func(_ *server, _ *site.Request, p *trendPage, rows []batch.TrendRow, months []monthTotal) error {
		p.yields(months)
		p.kinds(rows)
		return nil
	}},
	{"/trend/reasons", "Reasons", "trendreasons", func(_ *server, _ *site.Request, p *trendPage, _ []batch.TrendRow, months []monthTotal) error {
		p.reasons(months)
		return nil
	}},
	{"/trend/characteristics", "Characteristics", "trendvalues", func(s *server, c *site.Request, p *trendPage, rows []batch.TrendRow, _ []monthTotal) error {
		return s.trendValues(c, p, rows)
	}},
	{"/trend/people", "Who, where, when", "trendpeople", func(s *server, c *site.Request, p *trendPage, _ []batch.TrendRow, _ []monthTotal) error {
		return s.trendBreakdowns(c.Request.Context(), p)
	}},
}

// trendPage is the yields of all batches month by month, or one of the layers behind them.
type trendPage struct {
	Layer       layer
	Layers      []layer
	Scope       batch.Scope
	Models      []form.Option
	Revisions   []form.Option // of the model that is chosen
	From, To    []form.Option
	Sentence    string
	Switch      show.DoubtSwitch
	Has         bool     // there is something in scope
	Steady      string   // sentence under it: how many months lie beyond their limits, and how many would by chance
	Signals     []string // of each such month
	YieldChart  *show.Chart
	Months      []monthRow
	KindChart   *show.Chart
	Kinds       []kindRow
	Reasons     []show.ReasonRow
	ReasonChart *show.Chart
	ReasonTrend *show.Chart
	ReasonHeads []string
	ReasonRows  []reasonMonth
	Values      *trendValues
	ToDo        string // why there are no values
	Breakdowns  show.Breakdowns
}

// Query is the part of an address that keeps the scope.
func (p *trendPage) Query() template.URL { return template.URL(site.ScopeQuery(p.Scope).Encode()) }

// trend shows a layer. An address that asks the first one for a characteristic leads to the layer of characteristics.
func (s *server) trend(c *site.Request, l layer) error {
	if l.Path == "/trend" && c.Query("of") != "" {
		return c.To("/trend/characteristics?" + c.Request.URL.RawQuery)
	}
	p, err := s.readTrend(c, l)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, l.page, show.Pick(l.Path == "/trend", "Trend", "Trend: "+l.Title), p)
}

// readTrend gathers a layer. Yields and reasons come out of one list that holds every month.
func (s *server) readTrend(c *site.Request, l layer) (*trendPage, error) {
	ctx := c.Request.Context()
	all, err := s.opt.Record.Trend(ctx, batch.Scope{WithoutDoubt: c.WithoutDoubt()})
	if err != nil {
		return nil, err
	}
	p := &trendPage{Layer: l, Layers: layers, Scope: scopeOf(c)}
	if len(all) == 0 {
		p.Sentence = "Nothing has been inspected yet. The trend begins with the first verdict."
		return p, nil
	}
	p.choices(all)
	rows := slices.DeleteFunc(slices.Clone(all), func(r batch.TrendRow) bool { return !inScope(p.Scope, r) })
	p.Switch = switchOf(c, rows)
	months := totalsByMonth(rows)
	if len(months) == 0 {
		p.Sentence = fmt.Sprintf("Nothing of %s was inspected %s.", scopeWords(p.Scope), tell.Months(p.Scope.From, p.Scope.To))
		return p, nil
	}
	p.Sentence = trendSentence(scopeWords(p.Scope), months, batch.MonthOf(s.opt.Now()))
	p.Has = true
	return p, l.read(s, c, p, rows, months)
}

// switchOf says how many of the necks of these rows are in doubt.
func switchOf(c *site.Request, rows []batch.TrendRow) show.DoubtSwitch {
	inDoubt, of := 0, 0
	for _, r := range rows {
		inDoubt, of = inDoubt+r.InDoubt, of+r.Inspected
	}
	if c.WithoutDoubt() {
		of += inDoubt
	}
	return show.SwitchOf(c.Request.URL, inDoubt, of, c.WithoutDoubt())
}

// choices fills the form from what there is, and cuts the scope down to the newest months where none are asked for.
func (p *trendPage) choices(all []batch.TrendRow) {
	p.Models = []form.Option{{Value: "", Label: "all models", On: p.Scope.SpecName == ""}}
	revisions := []form.Option{{Value: "", Label: "all revisions", On: p.Scope.Revision == ""}}
	first, last := all[0].Month, all[0].Month
	for _, r := range all {
		add := func(list *[]form.Option, value, chosen string) {
			if !slices.ContainsFunc(*list, func(o form.Option) bool { return o.Value == value }) {
				*list = append(*list, form.Option{Value: value, Label: value, On: value == chosen})
			}
		}
		add(&p.Models, r.SpecName, p.Scope.SpecName)
		if r.SpecName == p.Scope.SpecName {
			add(&revisions, r.Revision, p.Scope.Revision)
		}
		first, last = min(first, r.Month), max(last, r.Month)
	}
	if p.Scope.SpecName != "" {
		p.Revisions = revisions
	}
	if !slices.ContainsFunc(revisions, func(o form.Option) bool { return o.Value == p.Scope.Revision }) {
		p.Scope.Revision = "" // of a model chosen before
	}
	if p.Scope.To == 0 || p.Scope.To > last {
		p.Scope.To = last
	}
	if p.Scope.From == 0 {
		p.Scope.From = monthsAway(p.Scope.To, 1-trendMonths)
	}
	p.Scope.From = max(p.Scope.From, first)
	for m := last; m >= first; m = monthsAway(m, -1) {
		p.From = append(p.From, form.Option{Value: site.MonthText(m), Label: tell.Month(m), On: m == p.Scope.From})
		p.To = append(p.To, form.Option{Value: site.MonthText(m), Label: tell.Month(m), On: m == p.Scope.To})
	}
}

// trendSentence answers for the newest month: its yield, how it stands to the month before it and what causes rejections.
func trendSentence(what string, months []monthTotal, now batch.Month) string {
	newest := months[len(months)-1]
	rate := 100 * float64(newest.FirstPass) / float64(newest.Inspected)
	words := fmt.Sprintf("First-pass yield of %s %s in %s (%s)", what, show.Pick(newest.month == now, fmt.Sprintf("is %.1f %% so far", rate), fmt.Sprintf("was %.1f %%", rate)),
		tell.Month(newest.month), tell.Counted(newest.Inspected, "neck", "necks"))
	for i := len(months) - 2; i >= 0; i-- {
		if before := months[i]; before.Inspected > 0 {
			words += ", " + againstWords(newest.total, before.total, tell.Month(before.month))
			break
		}
	}
	if why := tell.Cause(newest.list()); why != "" {
		words += "; " + why
	}
	return words + "."
}

// againstWords compares a first-pass yield with one before: "0.8 points below September 2026, more than chance explains".
func againstWords(now, before total, when string) string {
	d := 100 * (float64(now.FirstPass)/float64(now.Inspected) - float64(before.FirstPass)/float64(before.Inspected))
	lo, hi := batch.Newcombe(now.FirstPass, now.Inspected, before.FirstPass, before.Inspected, show.Confidence)
	chance := show.Pick(lo > 0 || hi < 0, "more than chance explains", "within chance")
	if math.Abs(d) < 0.05 {
		return "as in " + when
	}
	return fmt.Sprintf("%.1f points %s %s, %s", math.Abs(d), show.Pick(d > 0, "above", "below"), when, chance)
}

// trendBreakdowns reads how first inspections went by every dimension.
func (s *server) trendBreakdowns(ctx context.Context, p *trendPage) (err error) {
	p.Breakdowns, err = show.BreakdownsOf(ctx, s.opt.Record, p.Scope, func(d batch.Dimension, value string) string { return site.BehindPath(p.Scope, d, value, "") })
	return err
}
