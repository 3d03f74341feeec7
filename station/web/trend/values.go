package trend

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// trendValues is how a model's main characteristics lie, and one of them month by month.
type trendValues struct {
	Places   []show.PlaceRow
	Links    map[string]string // of the places, by key
	Limits   string            // sentence: whose limits are shown
	Key      string
	Title    string
	Unit     string
	Choices  []form.Option
	Sentence string
	Charts   []*show.Chart
	Rows     []valueMonth
	Indices  []indexMonth
}

// valueMonth is one characteristic's first measurements in one month.
type valueMonth struct {
	Words, Link             string
	N                       int
	Mean, SD                string
	Nonconforming, Near     int
	NonconformingPC, NearPC float64
	Undecided, NotMeasured  int
	moments                 batch.Moments
	month                   batch.Month
	measured                bool
	meanShown, spreadShown  float64
}

// trendValues reads the main characteristics of one model. Values of different models have different limits and are not
// put together.
func (s *server) trendValues(c *site.Request, p *trendPage, rows []batch.TrendRow) error {
	scope := p.Scope
	for _, r := range rows { // all of one model: nothing needs choosing
		if scope.SpecName == "" || scope.SpecName == r.SpecName {
			scope.SpecName = r.SpecName
			continue
		}
		p.ToDo = "Choose a model to see its characteristics month by month."
		return nil
	}
	spec, whose, err := s.newestSpec(c, scope, rows)
	if err != nil {
		return err
	}
	if spec == nil {
		return nil
	}
	all, err := s.opt.Record.Characteristics(c.Request.Context(), scope, "", batch.SplitNone)
	if err != nil {
		return err
	}
	all = slices.DeleteFunc(all, func(r batch.CharacteristicRow) bool {
		return inspect.KindOf(r.Name).AtEveryFret() // those at every fret stand on the batch's page
	})
	if len(all) == 0 {
		return nil
	}
	lengths := c.Unit()
	v := &trendValues{Places: show.PlacesOf(spec, all, show.LimitsIn(spec), lengths), Limits: whose, Links: map[string]string{}}
	chosen := all[0].Named
	for _, r := range all {
		if r.Name == inspect.Relief {
			chosen = r.Named
			break
		}
	}
	for _, r := range all {
		if r.Named.Key() == c.Query("of") {
			chosen = r.Named
		}
	}
	v.Key, v.Title, v.Unit = chosen.Key(), show.SeriesWords(spec, chosen), show.UnitOf(chosen.Unit, lengths)
	for _, r := range all {
		key := r.Named.Key()
		v.Choices = append(v.Choices, form.Option{Value: key, Label: tell.Upper(show.SeriesWords(spec, r.Named)), On: key == v.Key})
		v.Links[key] = site.TrendPath(p.Scope, key)
	}
	byMonth, err := s.opt.Record.Characteristics(c.Request.Context(), scope, chosen.Name, batch.SplitMonthSpec)
	if err != nil {
		return err
	}
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return err
	}
	v.months(scope, chosen, overRevisions(chosen, byMonth), lengths)
	v.draw(spec, chosen, lengths)
	v.indices(specs, scope.SpecName, chosen, byMonth, lengths)
	p.Values = v
	return nil
}

// newestSpec is the newest revision of a scope's model among rows, of all where none are given, and a sentence that says
// whose limits are shown.
func (s *server) newestSpec(c *site.Request, scope batch.Scope, rows []batch.TrendRow) (*inspect.Spec, string, error) {
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return nil, "", err
	}
	var newest *batch.SpecRevision
	var others []string
	for i := range specs {
		sp := &specs[i]
		if sp.Name != scope.SpecName || sp.Spec == nil || rows != nil && !slices.ContainsFunc(rows, func(r batch.TrendRow) bool { return r.SpecName == sp.Name && r.Revision == sp.Revision }) {
			continue
		}
		if !slices.Contains(others, sp.Revision) {
			others = append(others, sp.Revision)
		}
		if newest == nil || !sp.AddedAt.Before(newest.AddedAt) {
			newest = sp
		}
	}
	if newest == nil {
		return nil, "", nil
	}
	others = slices.DeleteFunc(others, func(r string) bool { return r == newest.Revision })
	words := fmt.Sprintf("Limits are those of revision %s.", newest.Revision)
	if len(others) > 0 {
		slices.Sort(others)
		words = fmt.Sprintf("Limits are those of revision %s; necks of revision %s were judged by their own.", newest.Revision, strings.Join(others, ", "))
	}
	return newest.Spec.WithDefaults(), words, nil
}

// months fills the table of one characteristic.
func (v *trendValues) months(scope batch.Scope, chosen batch.Named, rows []batch.CharacteristicRow, lengths unit.Unit) {
	for _, r := range rows {
		m := valueMonth{
			month: r.Month, Words: tell.Month(r.Month), Link: site.BehindPath(monthScope(scope, r.Month), batch.ByAll, "", v.Key), N: r.N, moments: r.Moments,
			Nonconforming: r.Nonconforming, Near: r.Near, Undecided: r.Undecided, NotMeasured: r.NotMeasured, Mean: "–", SD: "–", measured: r.N > 0,
		}
		if r.N > 0 {
			m.meanShown = show.InUnit(r.Mean, chosen.Unit, lengths)
			m.Mean = show.Value(r.Mean, chosen.Unit, lengths, inspect.KindOf(chosen.Name).Signed)
			m.NonconformingPC, m.NearPC = 100*float64(r.Nonconforming)/float64(r.N), 100*float64(r.Near)/float64(r.N)
		}
		if sd, ok := r.SD(); ok {
			m.spreadShown = show.InUnit(sd, chosen.Unit, lengths)
			m.SD = show.Value(sd, chosen.Unit, lengths, false)
		}
		v.Rows = append(v.Rows, m)
	}
}

// draw charts mean and standard deviation and words the newest month.
func (v *trendValues) draw(spec *inspect.Spec, chosen batch.Named, lengths unit.Unit) {
	if len(v.Rows) == 0 {
		return
	}
	decimals := show.Decimals(chosen.Unit, lengths)
	means := show.Chart{ID: "means", Caption: "Mean of the first measurements of each month; bars: one standard deviation to either side. A point leads to its batches.",
		Spoken: "Mean of " + v.Title + " by month; the table has the numbers.", Y: show.Axis{Title: "mean, " + v.Unit, Decimals: decimals}}
	spreads := show.Chart{ID: "spreads", Caption: "Standard deviation of the first measurements of each month. A point leads to its batches.",
		Spoken: "Standard deviation of " + v.Title + " by month; the table has the numbers.", Y: show.Axis{Title: "standard deviation, " + v.Unit, Decimals: decimals, Min: show.Y(0)}}
	mean, bars, spread := show.Series{Name: "mean", Kind: "both"}, show.Series{Name: "standard deviation", Kind: "line", Hue: 1}, show.Series{Name: "standard deviation", Kind: "both"}
	rows := map[batch.Month]valueMonth{}
	for _, r := range v.Rows {
		rows[r.month] = r
	}
	x := 0.0
	for m := v.Rows[0].month; m <= v.Rows[len(v.Rows)-1].month; m, x = monthsAway(m, 1), x+1 {
		means.X.Names = append(means.X.Names, monthShort(m))
		r := rows[m]
		at, sd := show.Point{X: x}, show.Point{X: x}
		if r.measured {
			at.Y, at.Link = show.Y(r.meanShown), r.Link
			at.Words = fmt.Sprintf("%s: mean %s %s of %s", r.Words, r.Mean, v.Unit, tell.Counted(r.N, "neck", "necks"))
		}
		if r.N > 1 {
			sd.Y, sd.Link, sd.Words = show.Y(r.spreadShown), r.Link, fmt.Sprintf("%s: standard deviation %s %s", r.Words, r.SD, v.Unit)
			bars.Points = append(bars.Points, show.Point{X: x, Y: show.Y(r.meanShown - r.spreadShown)}, show.Point{X: x, Y: show.Y(r.meanShown + r.spreadShown)})
		}
		bars.Points = append(bars.Points, show.Point{X: x})
		mean.Points, spread.Points = append(mean.Points, at), append(spread.Points, sd)
	}
	spreads.X.Names = means.X.Names
	means.Series, spreads.Series = []show.Series{mean, bars}, []show.Series{spread}
	if l := spec.LimitFor(inspect.Characteristic{Name: chosen.Name, Track: chosen.Track, String: chosen.String, Fret: chosen.Fret, HeldFret: chosen.HeldFret}); l != nil {
		lower, target, upper := l.Bounds()
		means.Marks = show.LimitMarks([]batch.SeriesPoint{{Lower: lower, Target: target, Upper: upper}}, chosen.Unit, lengths, false)
	}
	v.Charts = []*show.Chart{&means, &spreads}
	v.Sentence = valueSentence(v, chosen, lengths)
}

// valueSentence answers for the newest month that has values and compares it with the one before.
func valueSentence(v *trendValues, chosen batch.Named, lengths unit.Unit) string {
	withValues := slices.DeleteFunc(slices.Clone(v.Rows), func(r valueMonth) bool { return !r.measured })
	if len(withValues) == 0 {
		return tell.Upper(v.Title) + " was not measured."
	}
	newest := withValues[len(withValues)-1]
	words := fmt.Sprintf("%s: mean %s %s in %s", tell.Upper(v.Title), newest.Mean, v.Unit, newest.Words)
	if newest.N > 1 {
		words += fmt.Sprintf(" with a standard deviation of %s %s", newest.SD, v.Unit)
	}
	if len(withValues) > 1 {
		before := withValues[len(withValues)-2]
		if d, ok := batch.DifferenceOfMeans(newest.moments, before.moments, show.Confidence); ok {
			number := func(x float64) string { return show.Value(x, chosen.Unit, lengths, true) }
			if math.Abs(d.Value) > 0 && (d.Low > 0 || d.High < 0) {
				words += fmt.Sprintf("; it has moved by %s %s since %s (%s to %s)", number(d.Value), v.Unit, before.Words, number(d.Low), number(d.High))
			} else {
				words += fmt.Sprintf("; the change since %s lies within chance", before.Words)
			}
		}
	}
	return words + "."
}
