package studies

import (
	"math/rand/v2"
	"net/http"
	"net/url"
	"strings"

	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// studyKinds are the kinds of study that are planned on a gauge's page.
var studyKinds = []form.Option{
	{Value: string(batch.CrossedStudy), Label: "crossed: parts, appraisers and trials"},
	{Value: string(batch.TypeOneStudy), Label: "type-1: one master, at least 25 readings"},
	{Value: string(batch.LinearityStudy), Label: "bias and linearity: several masters"},
}

// studyForm is the plan of a new study.
func (s *server) studyForm(c *site.Request) (*form.Form, error) {
	people, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return nil, err
	}
	appraisers := make([]form.Option, len(people))
	for i, p := range people {
		appraisers[i] = form.Option{Value: p.Name, Label: p.Name, On: false}
	}
	by, err := c.ByField(batch.PlanStudy)
	by.Label = "Planned by"
	return &form.Form{Groups: []form.Group{
		{Fields: []form.Field{
			{Name: "kind", Label: "Kind of study", Kind: "select", Options: studyKinds, Needed: true},
			{Name: "about", Label: "What is measured", Kind: "text", Allowed: "in a few words, e.g. crown of fret 7, or steel block", Needed: true},
			{Name: "appraisers", Label: "Appraisers", Kind: "check", Options: appraisers, Allowed: "one for a study of masters"},
			{Name: "trials", Label: "Trials", Kind: "number", Unit: "times", Allowed: "crossed: 2 or more of each part; type-1: 25 or more; linearity: 2 or more of each master", Needed: true, Value: "3"},
			{Name: "tolerance", Label: "Tolerance that the gauge is to judge", Kind: "number", Unit: c.Unit().String(), Allowed: "upper less lower limit; empty: none"},
		}},
		{Title: "Parts or masters", Fields: []form.Field{
			{Name: "parts", Label: "Parts", Kind: "area", Rows: 5, Allowed: "crossed study: one label a line, or first..last as in P01..P10; ten that span the process are usual. Put the label where the appraiser does not see it"},
			{Name: "references", Label: "Masters' values", Kind: "area", Rows: 3, Allowed: "type-1: one; linearity: one a line, over the travel"},
		}},
		{Fields: []form.Field{by}},
	}}, err
}

type newStudyPage struct {
	Gauge batch.Gauge
	Form  *form.Form
}

func (s *server) newStudy(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.studyForm(c)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "studynew", "Plan a study of the "+g.Name, newStudyPage{g, f})
}

func (s *server) startStudy(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.studyForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	lengths := c.Unit()
	plan := batch.StudyPlan{
		Kind: batch.StudyKind(f.Choice("kind")), About: f.Text("about", 120), Appraisers: f.Field("appraisers").Chosen(),
		Trials: f.Whole("trials", 1, 1000), ToleranceMM: f.Length("tolerance", lengths, 0, 100), Seed: rand.Uint64(),
	}
	by := f.Choice("by")
	if plan.Kind == batch.CrossedStudy {
		if plan.Parts, err = form.Serials(f.Field("parts").Value, batch.NoCheck); err != nil {
			f.RefuseAt("parts", batch.Mendable.Of(err))
		}
	} else {
		for line := range strings.Lines(f.Field("references").Value) {
			if line = strings.TrimSpace(line); line == "" {
				continue
			}
			mm, err := show.ParseLength(line, lengths)
			if err != nil {
				f.Field("references").Fail("%q is not a length; one a line.", line)
			}
			plan.References = append(plan.References, mm)
		}
	}
	if f.Ok() {
		st, err := s.opt.Record.StartStudy(c.Request.Context(), by, g.ID, plan)
		if err == nil {
			return c.To("/studies/" + url.PathEscape(st.ID))
		}
		f.Refuse(err)
	}
	return c.Show(c.Refused(f), "studynew", "Plan a study of the "+g.Name, newStudyPage{g, f})
}
