package web

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// studyRoutes registers the gauge studies.
func (s *server) studyRoutes(g *site.Group) {
	g.GET("/gauges/:id/studies/new", s.newStudy)
	g.POST("/gauges/:id/studies", s.startStudy)
	g.GET("/studies/:study", s.study)
	g.POST("/studies/:study/bench", s.studyToBench)
	g.POST("/studies/:study/leave", s.leaveStudy)
	g.POST("/studies/:study/use", s.useStudy)
	g.POST("/studies/:study/give-up", s.giveStudyUp)
}

// studyLine is one row of a gauge's studies.
type studyLine struct {
	batch.GaugeStudy
	Kind   string // in words
	Of     int
	Answer string // what came out, or how far it is
}

// studyKinds are the kinds of study that are planned on a gauge's page.
var studyKinds = []form.Option{
	{Value: string(batch.CrossedStudy), Label: "crossed: parts, appraisers and trials"},
	{Value: string(batch.TypeOneStudy), Label: "type-1: one master, at least 25 readings"},
	{Value: string(batch.LinearityStudy), Label: "bias and linearity: several masters"},
}

// studiesOf lists a gauge's studies, the newest first.
func (s *server) studiesOf(c *site.Request, g batch.Gauge) ([]studyLine, error) {
	all, err := s.opt.Record.Studies(c.Request.Context(), g.ID)
	if err != nil {
		return nil, err
	}
	lines := make([]studyLine, 0, len(all))
	for _, st := range all {
		l := studyLine{GaugeStudy: st, Kind: show.KindOfStudy(st.Plan.Kind)}
		steps, err := st.Plan.Steps()
		if err != nil {
			return nil, err
		}
		l.Of = len(steps)
		switch st.State {
		case batch.StudyFinished:
			readings, err := s.opt.Record.StudyReadings(c.Request.Context(), st.ID)
			if err != nil {
				return nil, err
			}
			l.Answer = show.StudyResultOf(st.Plan, batch.StandingStudy(readings), g.ResolutionMM, c.Unit()).Answer
		case batch.StudyGivenUp:
			l.Answer = "given up: " + st.Reason
		default:
			l.Answer = fmt.Sprintf("%d of %d readings", st.Readings, l.Of)
		}
		lines = append(lines, l)
	}
	return lines, nil
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
	by, err := c.ByField(batch.QualityManager)
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
	g, err := s.findGauge(c)
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
	g, err := s.findGauge(c)
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
		if plan.Parts, err = parseSerials(f.Field("parts").Value); err != nil {
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

// studyPage is one study: what came out of it, or how far it is.
type studyPage struct {
	Study    batch.GaugeStudy
	Gauge    batch.Gauge
	Kind     string
	Sentence string
	Of       int
	OnBench  bool
	Order    []orderRow        // for whoever hands the pieces over
	Result   *show.StudyResult // nil before it is finished
	Use      *form.Form        // who uses its outcome
	GiveUp   *form.Form        // who gives it up, and why
	Error    string
}

// findStudy reads the study of the page's address with its gauge.
func (s *server) findStudy(c *site.Request) (st batch.GaugeStudy, g batch.Gauge, err error) {
	if st, err = s.opt.Record.Study(c.Request.Context(), c.Param("study")); err != nil {
		return st, g, err
	}
	all, err := s.opt.Record.Gauges(c.Request.Context())
	for _, one := range all {
		if one.ID == st.GaugeID {
			g = one
		}
	}
	return st, g, err
}

// studyForms are the forms of a study's page; nil ones are made anew.
type studyForms struct{ Use, GiveUp *form.Form }

// useForm asks who makes a study's outcome the gauge's uncertainty.
func (s *server) useForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.QualityManager)
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{by}}}}, err
}

// giveUpForm asks who gives a study up, and why.
func (s *server) giveUpForm(c *site.Request) (*form.Form, error) {
	f, err := s.useForm(c)
	f.Groups[0].Fields = append(f.Groups[0].Fields, form.Field{Name: "reason", Label: "Reason", Kind: "text", Allowed: "in a few words", Needed: true})
	return f, err
}

func (s *server) study(c *site.Request) error { return s.showStudy(c, http.StatusOK, "", studyForms{}) }

func (s *server) showStudy(c *site.Request, status int, problem string, forms studyForms) error {
	st, g, err := s.findStudy(c)
	if err != nil {
		return err
	}
	p := studyPage{Study: st, Gauge: g, Kind: show.KindOfStudy(st.Plan.Kind), Error: problem}
	steps, err := st.Plan.Steps()
	if err != nil {
		return err
	}
	p.Of = len(steps)
	all, err := s.opt.Record.StudyReadings(c.Request.Context(), st.ID)
	if err != nil {
		return err
	}
	standing := batch.StandingStudy(all)
	p.Order = runningOrder(steps, standing)
	if forms.Use == nil {
		if forms.Use, err = s.useForm(c); err != nil {
			return err
		}
	}
	if forms.GiveUp == nil {
		if forms.GiveUp, err = s.giveUpForm(c); err != nil {
			return err
		}
	}
	p.Use, p.GiveUp = forms.Use, forms.GiveUp
	if on := s.opt.Bench.Snapshot().Study; on != nil {
		p.OnBench = on.ID == st.ID
	}
	switch st.State {
	case batch.StudyFinished:
		r := show.StudyResultOf(st.Plan, standing, g.ResolutionMM, c.Unit())
		p.Result, p.Sentence = &r, r.Answer
	case batch.StudyGivenUp:
		p.Sentence = fmt.Sprintf("Given up by %s: %s. %s kept.", st.StateBy, strings.TrimSuffix(st.Reason, "."), show.Counted(len(standing), "reading is", "readings are"))
	default:
		p.Sentence = fmt.Sprintf("%d of %d readings taken.", len(standing), p.Of)
	}
	return c.Show(status, "study", show.UpperFirst(p.Kind)+" of the "+g.Name, p)
}

func (s *server) studyToBench(c *site.Request) error {
	if err := s.opt.Bench.BeginStudy(c.Request.Context(), c.Param("study")); err != nil {
		return s.showStudy(c, c.StatusOf(err), tell.Sentence(err), studyForms{})
	}
	return c.To("/")
}

func (s *server) leaveStudy(c *site.Request) error {
	if err := s.opt.Bench.LeaveStudy(c.Request.Context()); err != nil {
		return s.showStudy(c, c.StatusOf(err), tell.Sentence(err), studyForms{})
	}
	return c.To("/studies/" + url.PathEscape(c.Param("study")))
}

// useStudy makes what a study found the gauge's repeatability; every later reading carries it.
func (s *server) useStudy(c *site.Request) error {
	st, g, err := s.findStudy(c)
	if err != nil {
		return err
	}
	f, err := s.useForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by := f.Choice("by")
	all, err := s.opt.Record.StudyReadings(c.Request.Context(), st.ID)
	if err != nil {
		return err
	}
	r := show.StudyResultOf(st.Plan, batch.StandingStudy(all), g.ResolutionMM, unit.Millimetre)
	switch {
	case r.Repeatability <= 0:
		return s.showStudy(c, c.Refused(f), "This study gives no repeatability to use.", studyForms{Use: f})
	case !f.Ok():
		return s.showStudy(c, c.Refused(f), "", studyForms{Use: f})
	}
	if err := s.opt.Record.UseStudy(c.Request.Context(), by, st.ID, r.Repeatability); err != nil {
		return s.showStudy(c, c.StatusOf(err), form.Sentence(err), studyForms{Use: f})
	}
	return s.gaugesChanged(c, "/studies/"+url.PathEscape(st.ID))
}

func (s *server) giveStudyUp(c *site.Request) error {
	f, err := s.giveUpForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, reason := f.Choice("by"), f.Text("reason", 300)
	if !f.Ok() {
		return s.showStudy(c, c.Refused(f), "", studyForms{GiveUp: f})
	}
	if err := s.opt.Record.EndStudy(c.Request.Context(), by, c.Param("study"), batch.StudyGivenUp, reason); err != nil {
		return s.showStudy(c, c.StatusOf(err), form.Sentence(err), studyForms{GiveUp: f})
	}
	if on := s.opt.Bench.Snapshot().Study; on != nil && on.ID == c.Param("study") {
		if err := s.opt.Bench.LeaveStudy(c.Request.Context()); err != nil {
			return err
		}
	}
	return c.To("/studies/" + url.PathEscape(c.Param("study")))
}

// orderRow is one line of a study's running order.
type orderRow struct {
	batch.StudyStep
	Number int
	Taken  *batch.StudyReading // nil before it is measured
}

// runningOrder is the plan with what was read.
func runningOrder(steps []batch.StudyStep, readings []batch.StudyReading) []orderRow {
	type key struct{ appraiser, part, trial string }
	taken := map[key]*batch.StudyReading{}
	for i, r := range readings {
		taken[key{r.Appraiser, r.Part, r.Trial}] = &readings[i]
	}
	rows := make([]orderRow, len(steps))
	for i, st := range steps {
		rows[i] = orderRow{st, i + 1, taken[key{st.Appraiser, st.Part, st.Trial}]}
	}
	return rows
}
