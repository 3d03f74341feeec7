package batches

import (
	"cmp"
	"fmt"
	"net/http"
	"strings"

	"sagitta/batch"
	"sagitta/batch/spc"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// mostPoints is how many necks a chart shows; of a larger batch the newest.
const mostPoints = 5000

// placesShown is how many characteristics stand in the open table.
const placesShown = 16

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

// chosenOf is the characteristic that the page's address names, or the first limited one; nil before anything limited is measured.
func chosenOf(c *site.Request, rows []batch.CharacteristicRow) *batch.Named {
	var chosen *batch.Named
	for i := range rows {
		switch key := rows[i].Named.Key(); {
		case key == c.Query("of"):
			chosen = &rows[i].Named
		case chosen == nil && c.Query("of") == "" && rows[i].Name == inspect.Relief:
			chosen = &rows[i].Named
		}
	}
	if chosen == nil && len(rows) > 0 {
		chosen = &rows[0].Named
	}
	return chosen
}

// readChosen reads the series of the chosen characteristic.
func (s *server) readChosen(c *site.Request, b batch.Batch, rows []batch.CharacteristicRow) (*chosenSeries, error) {
	spec := b.Spec.Spec.WithDefaults()
	chosen := chosenOf(c, rows)
	if chosen == nil {
		return nil, nil
	}
	out := &chosenSeries{named: *chosen, title: tell.Upper(show.SeriesWords(spec, *chosen))}
	for p, err := range s.opt.Record.Series(c.Request.Context(), batch.SeriesFilter{Scope: batch.Scope{BatchID: b.ID, WithoutDoubt: c.WithoutDoubt()}, Named: *chosen, Newest: mostPoints + 1}) {
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

// characteristicsPage is every limited characteristic of the batch.
type characteristicsPage struct {
	batchHead
	Places     []show.PlaceRow // the least capable characteristics
	MorePlaces []show.PlaceRow // the others
	Drift      string          // sentence: how many signals there are in all, and how many chance would give
}

func (s *server) characteristicsPage(c *site.Request) (err error) {
	var p characteristicsPage
	if p.batchHead, err = s.headOf(c, "characteristics"); err != nil {
		return err
	}
	rows, err := s.opt.Record.Characteristics(c.Request.Context(), p.scope(), "", batch.SplitNone)
	if err != nil {
		return err
	}
	spec := p.Batch.Spec.Spec.WithDefaults()
	p.Places = show.PlacesOf(spec, rows, show.LimitsIn(spec), c.Unit())
	if p.Drift, err = s.drifts(c, p.batchHead, rows, p.Places); err != nil {
		return err
	}
	if len(p.Places) > placesShown {
		p.Places, p.MorePlaces = p.Places[:placesShown], p.Places[placesShown:]
	}
	return c.Show(http.StatusOK, "batchcharacteristics", p.title(), p)
}

// chartsPage looks at one characteristic closely.
type chartsPage struct {
	batchHead
	Chosen *chosenView // nil before anything limited is measured
	Base   *form.Form
}

func (s *server) chartsPage(c *site.Request) error { return s.showCharts(c, http.StatusOK, nil) }

func (s *server) showCharts(c *site.Request, status int, base *form.Form) (err error) {
	p := chartsPage{Base: base}
	if p.batchHead, err = s.headOf(c, "charts"); err != nil {
		return err
	}
	if p.Base == nil {
		if p.Base, err = s.baseForm(c, p.Batch); err != nil {
			return err
		}
	}
	rows, err := s.opt.Record.Characteristics(c.Request.Context(), p.scope(), "", batch.SplitNone)
	if err != nil {
		return err
	}
	if p.Chosen, err = s.lookAt(c, p.Batch, rows); err != nil {
		return err
	}
	return c.Show(status, "batchcharts", p.title(), p)
}

// lookAt looks at one characteristic closely.
func (s *server) lookAt(c *site.Request, b batch.Batch, rows []batch.CharacteristicRow) (*chosenView, error) {
	series, err := s.readChosen(c, b, rows)
	if err != nil || series == nil {
		return nil, err
	}
	lengths := c.Unit()
	v := &chosenView{Key: series.named.Key(), Title: series.title, Choices: choicesOf(b, rows, series.named)}
	kind := kindAsked(c, series.named)
	for _, k := range chartKinds {
		if k.On = k.Value == string(kind); k.On || !inspect.KindOf(series.named.Name).Width {
			v.Kinds = append(v.Kinds, k)
		}
	}
	tests := testsAsked(c, b.Spec.Spec.WithDefaults())
	for n := 1; n <= 8; n++ {
		v.Tests = append(v.Tests, form.Option{Value: fmt.Sprint(n), Label: testWords[n], On: tests.Has(n)})
	}
	if v.Base, err = s.opt.Record.Base(c.Request.Context(), b.ID); err != nil {
		return nil, err
	}
	base := v.Base
	if series.skipped { // the points shown do not begin with the batch's first
		base = batch.ChartBase{First: 1, Last: len(series.points)}
		v.Shown = fmt.Sprintf("The newest %d necks of the batch are shown and counted from 1, with limits of their own from all of them.", len(series.points))
	}
	v.Control = control{kind, series.named, series.title, series.points, base, tests, lengths}.view()
	if series.skipped {
		v.Control.BaseOf = "" // said already
	}
	var classes []show.HistogramRow
	v.Histogram, classes = show.HistogramOf(series.named, series.title, series.points, lengths)
	for _, r := range classes {
		v.Classes = append(v.Classes, classRow{show.Value(r.From, series.named.Unit, lengths, false) + " to " + show.Value(r.To, series.named.Unit, lengths, false), r.Necks, r.Nonconform})
	}
	v.Capability, err = s.capabilityOf(c.Request.Context(), b, series.named, series.title, series.points, lengths)
	return v, err
}

// choicesOf are the characteristics that can be looked at.
func choicesOf(b batch.Batch, rows []batch.CharacteristicRow, chosen batch.Named) []form.Option {
	spec := b.Spec.Spec.WithDefaults()
	var choices []form.Option
	for _, r := range rows {
		key := r.Named.Key()
		choices = append(choices, form.Option{Value: key, Label: tell.Upper(show.SeriesWords(spec, r.Named)), On: key == chosen.Key()})
	}
	return choices
}

// testWords are the run tests of ISO 7870-2 by number, in a few words.
var testWords = [9]string{"", "1: one beyond its limits", "2: nine on one side", "3: six rising or falling", "4: fourteen alternating",
	"5: two of three beyond 2 sigma", "6: four of five beyond 1 sigma", "7: fifteen within 1 sigma", "8: eight beyond 1 sigma"}

// testsAsked are the run tests that the page's address names; none named: those that the specification chooses for alarms, or test 1.
func testsAsked(c *site.Request, spec *inspect.Spec) spc.Tests {
	t, err := spc.ParseTests(strings.Join(c.QueryArray("test"), ","))
	if err == nil {
		return t
	}
	return cmp.Or(spc.TestsOf(spec.Alarms.Tests...), spc.TestsOf(1))
}
