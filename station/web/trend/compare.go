package trend

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// comparePage sets two batches, or two gauges, side by side.
type comparePage struct {
	Gauges       bool // two gauges are compared, else two batches
	A, B         string
	Numbers      []string // of all batches, newest first
	GaugesA      []form.Option
	GaugesB      []form.Option
	Models       []form.Option
	From, To     []form.Option
	Sentence     string
	Problem      string
	Notes        []string
	Yields       []sideYield
	Difference   string // sentence: of the first-pass yields
	Answer       comparison
	NameA, NameB string
	linkA, linkB func(key string) string
	scope        batch.Scope // that gauges are compared over
}

// sideYield is one side's first-pass yield.
type sideYield struct {
	Name, Link string
	First      show.Yield
}

func (s *server) compare(c *site.Request) error {
	p := &comparePage{Gauges: c.Query("what") == "gauges", A: strings.TrimSpace(c.Query("a")), B: strings.TrimSpace(c.Query("b"))}
	err := s.compareChoices(c, p)
	if err == nil && p.A != "" && p.B != "" {
		if p.Gauges {
			err = s.compareGauges(c, p)
		} else {
			err = s.compareBatches(c, p)
		}
	}
	if err != nil {
		return err
	}
	if p.Sentence == "" {
		p.Sentence = "Choose two batches, or two gauges that measured the same things."
	}
	return c.Show(http.StatusOK, "compare", "Compare", p)
}

// compareChoices fills the forms.
func (s *server) compareChoices(c *site.Request, p *comparePage) error {
	ctx := c.Request.Context()
	batches, err := s.opt.Record.Behind(ctx, batch.Scope{}, batch.ByAll, "")
	if err != nil {
		return err
	}
	for _, b := range batches {
		p.Numbers = append(p.Numbers, b.Number)
	}
	gauges, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return err
	}
	p.GaugesA, p.GaugesB = []form.Option{{Value: "", Label: "choose a gauge", On: p.A == ""}}, []form.Option{{Value: "", Label: "choose another", On: p.B == ""}}
	for _, g := range gauges {
		p.GaugesA, p.GaugesB = append(p.GaugesA, form.Option{Value: g.ID, Label: g.Name, On: p.Gauges && g.ID == p.A}), append(p.GaugesB, form.Option{Value: g.ID, Label: g.Name, On: p.Gauges && g.ID == p.B})
	}
	all, err := s.opt.Record.Trend(ctx, batch.Scope{})
	if err != nil || len(all) == 0 {
		return err
	}
	t := trendPage{Scope: scopeOf(c)}
	t.choices(all)
	p.Models, p.From, p.To, p.scope = t.Models, t.From, t.To, t.Scope
	return nil
}

// compareBatches compares the first inspections of two batches.
func (s *server) compareBatches(c *site.Request, p *comparePage) error {
	ctx := c.Request.Context()
	if p.A == p.B {
		p.Problem = fmt.Sprintf("Both are batch %s. Choose two.", p.A)
		return nil
	}
	var sides [2]batch.Batch
	var rows [2][]batch.CharacteristicRow
	var shares [2]batch.Share
	for i, number := range []string{p.A, p.B} {
		b, err := s.opt.Record.Batch(ctx, number)
		if batch.KindOf(err) == batch.Absent {
			p.Problem = fmt.Sprintf("There is no batch %q.", number)
			return nil
		}
		if err != nil {
			return err
		}
		scope := batch.Scope{BatchID: b.ID, WithoutDoubt: c.WithoutDoubt()}
		if rows[i], err = s.opt.Record.Characteristics(ctx, scope, "", batch.SplitNone); err != nil {
			return err
		}
		if shares[i], err = s.shareOf(ctx, scope, batch.ByAll, ""); err != nil {
			return err
		}
		if shares[i].Inspected == 0 {
			p.Problem = fmt.Sprintf("Nothing of batch %s has been inspected yet.", number)
			return nil
		}
		sides[i] = b
	}
	a, b := sides[0].Spec, sides[1].Spec
	switch {
	case a.Name != b.Name:
		p.Notes = append(p.Notes, fmt.Sprintf("They are of two models, %s and %s: what differs may belong to the model. Only what both measure is compared.", a.Name, b.Name))
	case a.Revision != b.Revision:
		p.Notes = append(p.Notes, fmt.Sprintf("They were judged by two revisions, %s and %s: each yield is by its own limits.", a.Revision, b.Revision))
	}
	p.NameA, p.NameB = sides[0].Number, sides[1].Number
	p.linkA = func(key string) string { return site.ChartPath(p.NameA, key) }
	p.linkB = func(key string) string { return site.ChartPath(p.NameB, key) }
	p.yields(shares[0], shares[1], site.BatchPath(p.NameA), site.BatchPath(p.NameB), "batch ")
	left, right := a.Spec.WithDefaults(), b.Spec.WithDefaults()
	p.Notes, rows[0] = p.apart(left, right, rows[0], rows[1])
	p.values(left, rows[0], rows[1], c.Unit())
	return nil
}

// compareGauges compares what two gauges found over the same scope.
func (s *server) compareGauges(c *site.Request, p *comparePage) error {
	ctx := c.Request.Context()
	scope := p.scope
	names, err := show.GaugeNames(ctx, s.opt.Record)
	switch {
	case err != nil:
		return err
	case p.A == p.B:
		p.Problem = "Both are the same gauge. Choose two."
		return nil
	case names[p.A] == "" || names[p.B] == "":
		p.Problem = "One of these gauges is not on file."
		return nil
	}
	all, err := s.opt.Record.Characteristics(ctx, scope, "", batch.SplitGauge)
	if err != nil {
		return err
	}
	of := func(id string) []batch.CharacteristicRow {
		return slices.DeleteFunc(slices.Clone(all), func(r batch.CharacteristicRow) bool { return r.GaugeID != id })
	}
	p.NameA, p.NameB = names[p.A], names[p.B]
	link := func(id string) func(string) string {
		return func(string) string { return site.BehindPath(scope, batch.ByGauge, id, "") }
	}
	p.linkA, p.linkB = link(p.A), link(p.B)
	a, b := of(p.A), of(p.B)
	if len(a) == 0 || len(b) == 0 || !meet(a, b) {
		p.Problem = fmt.Sprintf("The %s and the %s have measured nothing in common %s.", p.NameA, p.NameB, strings.TrimSpace("of "+scopeWords(scope)+" "+tell.Months(scope.From, scope.To)))
		return nil
	}
	var shares [2]batch.Share
	for i, id := range []string{p.A, p.B} {
		if shares[i], err = s.shareOf(ctx, scope, batch.ByGauge, id); err != nil {
			return err
		}
	}
	p.Notes = append(p.Notes, "Each gauge measured other necks: what differs may be the necks', the people's or the season's. Whether the gauges themselves differ, a study of the same necks with both tells; plan one on a gauge's page.")
	if scope.SpecName == "" && len(p.Models) > 2 {
		p.Notes = append(p.Notes, "All models are put together: choose one, or a gauge that saw more of a model stands out by that alone.")
	}
	p.yields(shares[0], shares[1], p.linkA(""), p.linkB(""), "the ")
	var spec *inspect.Spec // what a characteristic is called, where it is one model's
	if scope.SpecName != "" {
		if spec, _, err = s.newestSpec(c, scope, nil); err != nil {
			return err
		}
	}
	p.values(spec, a, b, c.Unit())
	return nil
}

// meet says whether two sets of rows hold a characteristic in common.
func meet(a, b []batch.CharacteristicRow) bool {
	return slices.ContainsFunc(a, func(r batch.CharacteristicRow) bool {
		return slices.ContainsFunc(b, func(o batch.CharacteristicRow) bool { return o.Named == r.Named })
	})
}

// shareOf counts the first inspections of one value of a dimension.
func (s *server) shareOf(ctx context.Context, scope batch.Scope, d batch.Dimension, value string) (batch.Share, error) {
	all, err := s.opt.Record.Breakdown(ctx, scope, d)
	if err != nil {
		return batch.Share{}, err
	}
	for _, one := range all {
		if one.Value == value {
			return one, nil
		}
	}
	return batch.Share{}, nil
}

// yields compares the sides' first-pass yields.
func (p *comparePage) yields(a, b batch.Share, linkA, linkB, article string) {
	p.Yields = []sideYield{
		{tell.Upper(article) + p.NameA, linkA, show.YieldOf("First-pass yield", "", a.FirstPass, a.Inspected)},
		{tell.Upper(article) + p.NameB, linkB, show.YieldOf("First-pass yield", "", b.FirstPass, b.Inspected)},
	}
	if a.Inspected == 0 || b.Inspected == 0 {
		return
	}
	lo, hi := batch.Newcombe(a.FirstPass, a.Inspected, b.FirstPass, b.Inspected, show.Confidence)
	d := 100 * (float64(a.FirstPass)/float64(a.Inspected) - float64(b.FirstPass)/float64(b.Inspected))
	p.Difference = fmt.Sprintf("First-pass yield is %.1f %% with %s%s and %.1f %% with %s%s: %s (95 %% interval of the difference %s to %s), %s.",
		p.Yields[0].First.Rate, article, p.NameA, p.Yields[1].First.Rate, article, p.NameB, points(d),
		show.Fixed(100*lo, 1, true), show.Fixed(100*hi, 1, true), show.Pick(lo > 0 || hi < 0, "more than chance explains", "within chance"))
	if article == "batch " {
		p.Difference = strings.ReplaceAll(p.Difference, " with batch ", " in batch ")
	}
}

// points says a difference of two yields in percentage points: "2.5 points fewer"; "no difference" where it rounds to none.
func points(d float64) string {
	size := show.Fixed(math.Abs(d), 1, false)
	switch {
	case size == show.Fixed(0, 1, false) && d == 0:
		return "no difference"
	case size == show.Fixed(0, 1, false):
		return "less than 0.1 points apart"
	}
	return size + " points " + show.Pick(d < 0, "fewer", "more")
}
