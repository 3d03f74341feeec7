package batches

import (
	"fmt"
	"strings"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// mostPoints is how many necks a chart shows; of a larger batch the newest.
const mostPoints = 5000

// placesShown is how many characteristics stand in the open table.
const placesShown = 16

// batchStats is what the quality manager asks of a batch beside its yields.
type batchStats struct {
	Unit       unit.Unit
	Places     []show.PlaceRow // the least capable characteristics
	MorePlaces []show.PlaceRow // the others
	Chosen     *chosenView
	Reasons    []show.ReasonRow // by every characteristic that failed
	AllChart   *show.Chart
	Rolled     string // sentence: the rolled throughput yield over the characteristics
	Near       string // sentence: how many verdicts rest on less than U
	NearLink   string
	Loops      loopsView
	Outcomes   outcomeView
	Breakdowns []show.Breakdown
}

// chosenView is the one characteristic that is looked at.
type chosenView struct {
	Key, Title string
	Choices    []form.Option
	Kinds      []form.Option
	Tests      []form.Option
	Shown      string // which necks are shown, when not all
	Control    controlView
	Histogram  *show.Chart
	Classes    []classRow
	Capability capabilityView
	WhatIf     *whatIf
	Base       batch.ChartBase
}

// classRow is one class of the histogram in words.
type classRow struct {
	Range string
	Necks int
	Out   bool
}

// chosenSeries is the characteristic that the page's address names, or the first limited one, with its first measurements.
type chosenSeries struct {
	named   batch.Named
	title   string
	points  []batch.SeriesPoint
	skipped bool // older ones are left out
}

// chosenSeries reads the series that the page's address names; nil before anything limited is measured.
func (s *server) chosenSeries(c *site.Request, b batch.Batch) (*chosenSeries, error) {
	rows, err := s.opt.Record.Characteristics(c.Request.Context(), batch.Scope{BatchID: b.ID}, "", batch.SplitNone)
	if err != nil {
		return nil, err
	}
	return s.readChosen(c, b, rows)
}

func (s *server) readChosen(c *site.Request, b batch.Batch, rows []batch.CharacteristicRow) (*chosenSeries, error) {
	spec := b.Spec.Spec.WithDefaults()
	var chosen *batch.Named
	for i := range rows {
		switch key := rows[i].Named.Key(); {
		case key == c.Query("of"):
			chosen = &rows[i].Named
		case chosen == nil && c.Query("of") == "" && rows[i].Name == inspect.Relief:
			chosen = &rows[i].Named
		}
	}
	if chosen == nil {
		if len(rows) == 0 {
			return nil, nil
		}
		chosen = &rows[0].Named
	}
	out := &chosenSeries{named: *chosen, title: tell.Upper(show.SeriesWords(spec, *chosen))}
	for p, err := range s.opt.Record.Series(c.Request.Context(), batch.SeriesFilter{Scope: batch.Scope{BatchID: b.ID}, Named: *chosen, Newest: mostPoints + 1}) {
		if err != nil {
			return nil, err
		}
		if p.Value != nil {
			out.points = append(out.points, p)
		}
	}
	if len(out.points) > mostPoints {
		out.points, out.skipped = out.points[len(out.points)-mostPoints:], true
	}
	return out, nil
}

// statsOf reads and words what the page shows beside the yields.
func (s *server) statsOf(c *site.Request, b batch.Batch, counts batch.Counts) (*batchStats, error) {
	ctx := c.Request.Context()
	lengths := c.Unit()
	scope := batch.Scope{BatchID: b.ID}
	rows, err := s.opt.Record.Characteristics(ctx, scope, "", batch.SplitNone)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	spec := b.Spec.Spec.WithDefaults()
	st := &batchStats{Unit: lengths, Places: show.PlacesOf(spec, rows, show.LimitsIn(spec), lengths)}
	if len(st.Places) > placesShown {
		st.Places, st.MorePlaces = st.Places[:placesShown], st.Places[placesShown:]
	}
	if st.Chosen, err = s.chosenOf(c, b, rows); err != nil {
		return nil, err
	}
	failing, err := s.opt.Record.Breakdown(ctx, scope, batch.ByFailing)
	if err != nil {
		return nil, err
	}
	var reasons []batch.Reason
	for _, f := range failing {
		reasons = append(reasons, batch.Reason{Name: f.Value, Necks: f.Inspected})
	}
	st.Reasons = show.ParetoOf(reasons, func(name string) string { return site.NecksPath(b.Number, batch.ByFailing, name) })
	st.AllChart = show.ParetoChart("failing-chart", st.Reasons, "every characteristic that failed at a first inspection; a neck may stand under several")
	if st.Rolled, err = rolledWords(rows, reasons, counts.Inspected); err != nil {
		return nil, err
	}
	near, err := s.opt.Record.Breakdown(ctx, scope, batch.ByNear)
	if err != nil {
		return nil, err
	}
	n := 0
	for _, v := range near {
		n += v.Inspected
	}
	if counts.Inspected > 0 {
		st.Near = fmt.Sprintf("%d of %d first verdicts (%s %%) rest on a value that lies within its own U of a limit: measured again, they might turn out otherwise.",
			n, counts.Inspected, show.Fixed(100*float64(n)/float64(counts.Inspected), 1, false))
		st.NearLink = site.NecksPath(b.Number, batch.ByNear, "near")
	}
	loops, err := s.opt.Record.Loops(ctx, b.ID, mostPoints)
	if err != nil {
		return nil, err
	}
	st.Loops = loopsOf(loops)
	if counts.Registered > mostPoints {
		st.Loops.Sentence = fmt.Sprintf("Of the %d necks registered last. %s", mostPoints, st.Loops.Sentence)
	}
	outcomes, err := s.opt.Record.ReworkOutcomes(ctx, b.ID, mostPoints)
	if err != nil {
		return nil, err
	}
	st.Outcomes = outcomesOf(outcomes, lengths)
	st.Breakdowns, err = show.Breakdowns(ctx, s.opt.Record, scope, func(d batch.Dimension, value string) string { return site.NecksPath(b.Number, d, value) })
	return st, err
}

// rolledWords says the rolled throughput yield: the limited characteristics, by name, are the steps that a neck must pass.
func rolledWords(rows []batch.CharacteristicRow, failing []batch.Reason, inspected int) (string, error) {
	if inspected == 0 {
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

// chosenOf looks at one characteristic closely.
func (s *server) chosenOf(c *site.Request, b batch.Batch, rows []batch.CharacteristicRow) (*chosenView, error) {
	series, err := s.readChosen(c, b, rows)
	if err != nil || series == nil {
		return nil, err
	}
	lengths := c.Unit()
	v := &chosenView{Key: series.named.Key(), Title: series.title}
	spec := b.Spec.Spec.WithDefaults()
	for _, r := range rows {
		key := r.Named.Key()
		v.Choices = append(v.Choices, form.Option{Value: key, Label: tell.Upper(show.SeriesWords(spec, r.Named)), On: key == v.Key})
	}
	kind := spc.Kind(c.Query("kind"))
	if kind != spc.EWMAKind && kind != spc.CUSUMKind {
		kind = spc.IndividualsKind
	}
	for _, k := range chartKinds {
		k.On = k.Value == string(kind)
		v.Kinds = append(v.Kinds, k)
	}
	tests := testsAsked(c)
	for n := 1; n <= 8; n++ {
		v.Tests = append(v.Tests, form.Option{Value: fmt.Sprint(n), Label: testWords[n], On: tests == 0 || tests.Has(n)})
	}
	if v.Base, err = s.opt.Record.Base(c.Request.Context(), b.ID); err != nil {
		return nil, err
	}
	base := v.Base
	if series.skipped { // the points shown do not begin with the batch's first
		base = batch.ChartBase{First: 1, Last: len(series.points)}
		v.Shown = fmt.Sprintf("The newest %d necks of the batch are shown and counted from 1, with limits of their own from all of them.", len(series.points))
	}
	v.Control = controlOf(kind, series.named, series.title, series.points, base, tests, lengths)
	if series.skipped {
		v.Control.BaseOf = "" // said already
	}
	var classes []show.HistogramRow
	v.Histogram, classes = show.HistogramOf(series.named, series.title, series.points, lengths)
	for _, r := range classes {
		v.Classes = append(v.Classes, classRow{show.Value(r.From, series.named.Unit, lengths, false) + " to " + show.Value(r.To, series.named.Unit, lengths, false), r.Necks, r.Nonconform})
	}
	v.Capability = capabilityOf(series.named, series.title, series.points, lengths)
	v.WhatIf, err = s.whatIfOf(c, b, series.named, series.title, series.points)
	return v, err
}

// testWords are the run tests of ISO 7870-2 by number, in a few words.
var testWords = [9]string{"", "1: one beyond 3 sigma", "2: nine on one side", "3: six rising or falling", "4: fourteen alternating",
	"5: two of three beyond 2 sigma", "6: four of five beyond 1 sigma", "7: fifteen within 1 sigma", "8: eight beyond 1 sigma"}

// testsAsked are the run tests that the page's address names; none named: all.
func testsAsked(c *site.Request) spc.Tests {
	t, err := spc.ParseTests(strings.Join(c.QueryArray("test"), ","))
	if err != nil {
		return 0
	}
	return t
}
