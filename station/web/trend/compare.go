package trend

import (
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

// comparePage sets two sets of first inspections side by side.
type comparePage struct {
	What         string // kind of the sets
	A, B         string
	Numbers      []string // of all batches, newest first
	Kinds        []setForm
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
	scope        batch.Scope // that sets other than batches are compared over
}

// Batches says whether two batches are compared.
func (p *comparePage) Batches() bool { return p.What == "" }

// sideYield is one side's first-pass yield.
type sideYield struct {
	Name, Link string
	First      show.Yield
}

func (s *server) compare(c *site.Request) error {
	p := &comparePage{What: c.Query("what"), A: strings.TrimSpace(c.Query("a")), B: strings.TrimSpace(c.Query("b"))}
	if p.What == "batches" {
		p.What = ""
	}
	strata, err := s.compareChoices(c, p)
	if err == nil && p.A != "" && p.B != "" {
		if p.Batches() {
			err = s.compareBatches(c, p)
		} else {
			err = s.compareSets(c, p, strata)
		}
	}
	if err != nil {
		return err
	}
	if p.Sentence == "" {
		p.Sentence = "Choose two batches, or two sets of what was measured alike."
	}
	return c.Show(http.StatusOK, "compare", "Compare", p)
}

// compareChoices fills the forms; the strata are those of the scope that is asked for.
func (s *server) compareChoices(c *site.Request, p *comparePage) (batch.Strata, error) {
	ctx := c.Request.Context()
	batches, err := s.opt.Record.Behind(ctx, batch.Scope{}, batch.ByAll, "")
	if err != nil {
		return batch.Strata{}, err
	}
	for _, b := range batches {
		p.Numbers = append(p.Numbers, b.Number)
	}
	all, err := s.opt.Record.Trend(ctx, batch.Scope{})
	if err != nil || len(all) == 0 {
		return batch.Strata{}, err
	}
	t := trendPage{Scope: scopeOf(c)}
	t.choices(all)
	p.Models, p.From, p.To, p.scope = t.Models, t.From, t.To, t.Scope
	names, err := show.GaugeNames(ctx, s.opt.Record)
	if err != nil {
		return batch.Strata{}, err
	}
	strata, err := s.opt.Record.Strata(ctx, p.scope)
	if err != nil {
		return batch.Strata{}, err
	}
	p.Kinds = setForms(p, strata, s.opt.Shifts, names)
	return strata, nil
}

// compareBatches compares the first inspections of two batches.
func (s *server) compareBatches(c *site.Request, p *comparePage) error {
	ctx := c.Request.Context()
	if p.A == p.B {
		p.Problem = fmt.Sprintf("Both are batch %s. Choose two.", p.A)
		return nil
	}
	var sides [2]batch.Batch
	for i, number := range []string{p.A, p.B} {
		b, err := s.opt.Record.Batch(ctx, number)
		if batch.KindOf(err) == batch.Absent {
			p.Problem = fmt.Sprintf("There is no batch %q.", number)
			return nil
		}
		if err != nil {
			return err
		}
		sides[i] = b
	}
	scope := batch.Scope{WithoutDoubt: c.WithoutDoubt()}
	strata, err := s.opt.Record.Strata(ctx, scope)
	if err != nil {
		return err
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
	pairs := pairsOf(strata, batch.ByBatch, p.A, p.B)
	for _, side := range []struct {
		number string
		n      int
	}{{p.A, pairs.whole.Of}, {p.B, pairs.whole.RestOf}} {
		if side.n == 0 {
			p.Problem = fmt.Sprintf("Nothing of batch %s has been inspected yet.", side.number)
			return nil
		}
	}
	p.yields(pairs, strata, site.BatchPath(p.NameA), site.BatchPath(p.NameB), "batch ", nil)
	values, err := s.valuesOf(ctx, scope, batch.ByBatch, p.A, p.B)
	if err != nil {
		return err
	}
	left, right := a.Spec.WithDefaults(), b.Spec.WithDefaults()
	p.Notes, values.a = p.apart(left, right, values.a, values.b)
	p.values(left, values, c.Unit())
	return nil
}

// compareSets compares two sets of another kind over the scope.
func (s *server) compareSets(c *site.Request, p *comparePage, strata batch.Strata) error {
	ctx := c.Request.Context()
	kind, known := kindOf(p.What)
	if !known {
		p.Problem = fmt.Sprintf("Sets are not compared by %q.", p.What)
		return nil
	}
	if kind.by == batch.ByShift && uneven(s.opt.Shifts) {
		p.Problem = tell.ShiftsWithinAnHour(s.opt.Shifts)
		return nil
	}
	names, err := show.GaugeNames(ctx, s.opt.Record)
	if err != nil {
		return err
	}
	if p.A == p.B {
		p.Problem = fmt.Sprintf("Both are the same %s. Choose two.", kind.one)
		return nil
	}
	if kind.by == batch.ByGauge && (names[p.A] == "" || names[p.B] == "") {
		p.Problem = "One of these gauges is not on file."
		return nil
	}
	p.NameA, p.NameB = kind.words(p.A, names), kind.words(p.B, names)
	link := func(value string) func(string) string {
		return func(string) string { return setLink(p.scope, kind.by, value) }
	}
	p.linkA, p.linkB = link(p.A), link(p.B)
	values, err := s.valuesOf(ctx, p.scope, kind.by, p.A, p.B)
	if err != nil {
		return err
	}
	if !meet(values.a, values.b) {
		p.Problem = fmt.Sprintf("%s and %s have measured nothing in common %s.", tell.Upper(kind.article+p.NameA), kind.article+p.NameB, strings.TrimSpace("of "+scopeWords(p.scope)+" "+tell.Months(p.scope.From, p.scope.To)))
		return nil
	}
	p.Notes = append(p.Notes, kind.note)
	pairs := pairsOf(strata, kind.by, p.A, p.B)
	if n := pairs.whole.Of + pairs.whole.RestOf; n > mostCompared && !kind.kept() {
		p.Notes = append(p.Notes, fmt.Sprintf("Characteristics are those of the newest %d of %d necks; the yields are of all.", mostCompared, n))
	}
	p.yields(pairs, strata, p.linkA(""), p.linkB(""), kind.article, names)
	var spec *inspect.Spec // what a characteristic is called, where it is one model's
	if p.scope.SpecName != "" {
		if spec, _, err = s.newestSpec(c, p.scope, nil); err != nil {
			return err
		}
	}
	p.values(spec, values, c.Unit())
	return nil
}

// meet says whether two sets hold a characteristic in common.
func meet(a, b []batch.CharacteristicRow) bool {
	return slices.ContainsFunc(a, func(r batch.CharacteristicRow) bool {
		return slices.ContainsFunc(b, func(o batch.CharacteristicRow) bool { return o.Named == r.Named })
	})
}

// yields compares the sides' first-pass yields, put together and like with like.
func (p *comparePage) yields(pairs setPairs, strata batch.Strata, linkA, linkB, article string, gauges map[string]string) {
	w := pairs.whole
	p.Yields = []sideYield{
		{tell.Upper(article) + p.NameA, linkA, show.YieldOf("First-pass yield", "", w.Passed, w.Of)},
		{tell.Upper(article) + p.NameB, linkB, show.YieldOf("First-pass yield", "", w.RestPassed, w.RestOf)},
	}
	if w.Of == 0 || w.RestOf == 0 {
		return
	}
	lo, hi := batch.Newcombe(w.Passed, w.Of, w.RestPassed, w.RestOf, show.Confidence)
	d := 100 * (float64(w.Passed)/float64(w.Of) - float64(w.RestPassed)/float64(w.RestOf))
	p.Difference = fmt.Sprintf("First-pass yield is %.1f %% with %s%s and %.1f %% with %s%s: %s (95 %% interval of the difference %s to %s), %s.",
		p.Yields[0].First.Rate, article, p.NameA, p.Yields[1].First.Rate, article, p.NameB, points(d),
		show.Fixed(100*lo, 1, true), show.Fixed(100*hi, 1, true), show.Pick(lo > 0 || hi < 0, "more than chance explains", "within chance"))
	if article == "batch " {
		p.Difference = strings.ReplaceAll(p.Difference, " with batch ", " in batch ")
	}
	if pairs.split {
		p.Difference += " " + tell.LikeYields(pairs.contrast(), pairs.like, func(span int) string { return show.SpanWords(strata.Spans[span-1], gauges) })
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
