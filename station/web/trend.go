package web

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// trendRoutes registers the pages that look across batches, and back over one neck.
func (s *server) trendRoutes(g *site.Group) {
	g.GET("/trend", s.trend)
	g.GET("/trend/batches", s.behind)
	g.GET("/compare", s.compare)
}

// trendMonths is how many months the trend shows unless others are asked for.
const trendMonths = 24

// trendPage is the yields of all batches month by month, with what lies behind them.
type trendPage struct {
	Scope       batch.Scope
	Models      []form.Option
	Revisions   []form.Option // of the model that is chosen
	From, To    []form.Option
	Sentence    string
	Steady      string // sentence under it: whether the months differ by more than chance
	Signals     []monthSignal
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
	Breakdowns  []show.Breakdown
}

// total is first inspections added up.
type total struct {
	batch.Share
	near    int
	reasons map[string]int
}

func (t *total) add(r batch.TrendRow) {
	t.Inspected, t.FirstPass, t.FinalPass = t.Inspected+r.Inspected, t.FirstPass+r.FirstPass, t.FinalPass+r.FinalPass
	t.near += r.Near
	if t.reasons == nil {
		t.reasons = map[string]int{}
	}
	for _, reason := range r.Reasons {
		t.reasons[reason.Name] += reason.Necks
	}
}

// list are the reasons of a total.
func (t *total) list() []batch.Reason {
	all := make([]batch.Reason, 0, len(t.reasons))
	for name, n := range t.reasons {
		all = append(all, batch.Reason{Name: name, Necks: n})
	}
	return all
}

// nearShare is the share of verdicts near a limit, percent.
func (t *total) nearShare() float64 {
	if t.Inspected == 0 {
		return 0
	}
	return 100 * float64(t.near) / float64(t.Inspected)
}

// commonest names the commonest reason with its number, "" without rejections.
func (t *total) commonest() string {
	if rows := show.ParetoOf(t.list(), nil); len(rows) > 0 {
		return fmt.Sprintf("%s, %d", rows[0].Name, rows[0].Necks)
	}
	return ""
}

// monthTotal is the first inspections of one month.
type monthTotal struct {
	month batch.Month
	total
}

// totalsByMonth adds rows up by month, without gaps from the first month to the last.
func totalsByMonth(rows []batch.TrendRow) []monthTotal {
	var months []monthTotal
	if len(rows) == 0 {
		return nil
	}
	first, last := rows[0].Month, rows[0].Month
	for _, r := range rows {
		first, last = min(first, r.Month), max(last, r.Month)
	}
	place := map[batch.Month]int{}
	for m := first; m <= last; m = monthsAway(m, 1) {
		place[m] = len(months)
		months = append(months, monthTotal{month: m})
	}
	for _, r := range rows {
		months[place[r.Month]].add(r)
	}
	return months
}

// inScope says whether a row of the trend belongs to a scope.
func inScope(s batch.Scope, r batch.TrendRow) bool {
	return (s.SpecName == "" || r.SpecName == s.SpecName) && (s.Revision == "" || r.Revision == s.Revision) &&
		(s.From == 0 || r.Month >= s.From) && (s.To == 0 || r.Month <= s.To)
}

// scopeWords names what a scope picks: "all models", "QM Bolt 648, revision B".
func scopeWords(s batch.Scope) string {
	switch {
	case s.SpecName == "":
		return "all models"
	case s.Revision == "":
		return s.SpecName
	}
	return s.SpecName + ", revision " + s.Revision
}

// scopeOf reads it.
func scopeOf(c *site.Request) batch.Scope {
	s := batch.Scope{SpecName: c.Query("model"), Revision: c.Query("revision"), From: parseMonth(c.Query("from")), To: parseMonth(c.Query("to"))}
	if s.SpecName == "" {
		s.Revision = ""
	}
	return s
}

// scopeFields are the names and values of a scope for a form's hidden fields.
func scopeFields(s batch.Scope) map[string]string {
	fields := map[string]string{}
	for key, values := range site.ScopeQuery(s) {
		fields[key] = values[0]
	}
	return fields
}

// monthScope is a scope cut down to one month.
func monthScope(s batch.Scope, m batch.Month) batch.Scope {
	s.From, s.To = m, m
	return s
}

func (s *server) trend(c *site.Request) error {
	p, err := s.readTrend(c)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "trend", "Trend", p)
}

// readTrend gathers the page. Yields and reasons come out of one list that holds every month.
func (s *server) readTrend(c *site.Request) (*trendPage, error) {
	ctx := c.Request.Context()
	all, err := s.opt.Record.Trend(ctx, batch.Scope{})
	if err != nil {
		return nil, err
	}
	p := &trendPage{Scope: scopeOf(c)}
	if len(all) == 0 {
		p.Sentence = "Nothing has been inspected yet. The trend begins with the first verdict."
		return p, nil
	}
	p.choices(all)
	rows := slices.DeleteFunc(slices.Clone(all), func(r batch.TrendRow) bool { return !inScope(p.Scope, r) })
	months := totalsByMonth(rows)
	if len(months) == 0 {
		p.Sentence = fmt.Sprintf("Nothing of %s was inspected %s.", scopeWords(p.Scope), monthsWords(p.Scope.From, p.Scope.To))
		return p, nil
	}
	p.Sentence = trendSentence(scopeWords(p.Scope), months, batch.MonthOf(s.opt.Now()))
	p.yields(months)
	p.kinds(rows)
	p.reasons(months)
	if err := s.trendBreakdowns(ctx, p); err != nil {
		return nil, err
	}
	return p, s.trendValues(c, p, rows)
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
		p.From = append(p.From, form.Option{Value: site.MonthText(m), Label: monthWords(m), On: m == p.Scope.From})
		p.To = append(p.To, form.Option{Value: site.MonthText(m), Label: monthWords(m), On: m == p.Scope.To})
	}
}

// trendSentence answers for the newest month: its yield, how it stands to the month before it and what causes rejections.
func trendSentence(what string, months []monthTotal, now batch.Month) string {
	newest := months[len(months)-1]
	rate := 100 * float64(newest.FirstPass) / float64(newest.Inspected)
	words := fmt.Sprintf("First-pass yield of %s %s in %s (%s)", what, show.Pick(newest.month == now, fmt.Sprintf("is %.1f %% so far", rate), fmt.Sprintf("was %.1f %%", rate)),
		monthWords(newest.month), show.Counted(newest.Inspected, "neck", "necks"))
	for i := len(months) - 2; i >= 0; i-- {
		if before := months[i]; before.Inspected > 0 {
			words += ", " + againstWords(newest.total, before.total, monthWords(before.month))
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
	var shares []batch.Share
	for _, r := range rows {
		k := kind{r.SpecName, r.Revision}
		if sums[k] == nil {
			sums[k] = &total{}
			order = append(order, k)
		}
		sums[k].add(r)
	}
	slices.SortFunc(order, func(a, b kind) int { return cmp.Or(cmp.Compare(a.model, b.model), cmp.Compare(a.revision, b.revision)) })
	for _, k := range order {
		sums[k].Value = k.model + "\n" + k.revision
		shares = append(shares, sums[k].Share)
	}
	for i, k := range order {
		t := sums[k]
		scope := p.Scope
		scope.SpecName, scope.Revision = k.model, k.revision
		p.Kinds = append(p.Kinds, kindRow{
			Model: k.model, Revision: k.revision, Link: site.TrendPath(scope, ""), First: show.YieldOf("First pass", "", t.FirstPass, t.Inspected),
			Final: show.YieldOf("Final", "", t.FinalPass, t.Inspected), Near: t.nearShare(), Commonest: t.commonest(), Apart: show.ApartWords(shares[i], shares, ""),
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

// trendBreakdowns reads how first inspections went by every dimension.
func (s *server) trendBreakdowns(ctx context.Context, p *trendPage) (err error) {
	p.Breakdowns, err = show.Breakdowns(ctx, s.opt.Record, p.Scope, func(d batch.Dimension, value string) string { return site.BehindPath(p.Scope, d, value, "") })
	return err
}
