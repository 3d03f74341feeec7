package web

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
)

// studyRoutes registers the gauge studies.
func (s *server) studyRoutes(r gin.IRoutes) {
	r.GET("/gauges/:id/studies/new", s.newStudy)
	r.POST("/gauges/:id/studies", s.startStudy)
	r.GET("/studies/:study", s.study)
	r.POST("/studies/:study/bench", s.studyToBench)
	r.POST("/studies/:study/leave", s.leaveStudy)
	r.POST("/studies/:study/use", s.useStudy)
	r.POST("/studies/:study/give-up", s.giveStudyUp)
}

// studyLine is one row of a gauge's studies.
type studyLine struct {
	batch.GaugeStudy
	Kind   string // in words
	Of     int
	Answer string // what came out, or how far it is
}

// studyKinds are the kinds of study that are planned on a gauge's page.
var studyKinds = []option{
	{Value: string(batch.CrossedStudy), Label: "crossed: parts, appraisers and trials"},
	{Value: string(batch.TypeOneStudy), Label: "type-1: one master, at least 25 readings"},
	{Value: string(batch.LinearityStudy), Label: "bias and linearity: several masters"},
}

// kindOfStudy is a kind in a few words.
func kindOfStudy(k batch.StudyKind) string {
	return map[batch.StudyKind]string{batch.CrossedStudy: "crossed study", batch.TypeOneStudy: "type-1 study", batch.LinearityStudy: "bias and linearity"}[k]
}

// studiesOf lists a gauge's studies, the newest first.
func (s *server) studiesOf(c *gin.Context, g batch.Gauge) ([]studyLine, error) {
	all, err := s.opt.Record.Studies(c.Request.Context(), g.ID)
	if err != nil {
		return nil, err
	}
	lines := make([]studyLine, 0, len(all))
	for _, st := range all {
		l := studyLine{GaugeStudy: st, Kind: kindOfStudy(st.Plan.Kind)}
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
			l.Answer = resultOf(st.Plan, batch.StandingStudy(readings), g.ResolutionMM, unitOf(c)).Answer
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
func (s *server) studyForm(c *gin.Context) (*form, error) {
	people, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return nil, err
	}
	appraisers := make([]option, len(people))
	for i, p := range people {
		appraisers[i] = option{p.Name, p.Name, false}
	}
	by, err := s.byField(c, batch.QualityManager)
	by.Label = "Planned by"
	return &form{Groups: []fieldGroup{
		{Fields: []field{
			{Name: "kind", Label: "Kind of study", Kind: "select", Options: studyKinds, Needed: true},
			{Name: "about", Label: "What is measured", Kind: "text", Allowed: "in a few words, e.g. crown of fret 7, or steel block", Needed: true},
			{Name: "appraisers", Label: "Appraisers", Kind: "check", Options: appraisers, Allowed: "one for a study of masters"},
			{Name: "trials", Label: "Trials", Kind: "number", Unit: "times", Allowed: "crossed: 2 or more of each part; type-1: 25 or more; linearity: 2 or more of each master", Needed: true, Value: "3"},
			{Name: "tolerance", Label: "Tolerance that the gauge is to judge", Kind: "number", Unit: unitOf(c).String(), Allowed: "upper less lower limit; empty: none"},
		}},
		{Title: "Parts or masters", Fields: []field{
			{Name: "parts", Label: "Parts", Kind: "area", Rows: 5, Allowed: "crossed study: one label a line, or first..last as in P01..P10; ten that span the process are usual. Put the label where the appraiser does not see it"},
			{Name: "references", Label: "Masters' values", Kind: "area", Rows: 3, Allowed: "type-1: one; linearity: one a line, over the travel"},
		}},
		{Fields: []field{by}},
	}}, err
}

type newStudyPage struct {
	Gauge batch.Gauge
	Form  *form
}

func (s *server) newStudy(c *gin.Context) {
	g, found := s.findGauge(c)
	if !found {
		return
	}
	f, err := s.studyForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.render(c, http.StatusOK, "studynew", "Plan a study of the "+g.Name, newStudyPage{g, f})
}

func (s *server) startStudy(c *gin.Context) {
	g, found := s.findGauge(c)
	if !found {
		return
	}
	f, err := s.studyForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	lengths := unitOf(c)
	plan := batch.StudyPlan{
		Kind: batch.StudyKind(f.choice("kind")), About: f.text("about", 120), Appraisers: f.field("appraisers").chosen(),
		Trials: f.whole("trials", 1, 1000), ToleranceMM: f.length("tolerance", lengths, 0, 100), Seed: rand.Uint64(),
	}
	by := f.choice("by")
	if plan.Kind == batch.CrossedStudy {
		if plan.Parts, err = parseSerials(f.field("parts").Value); err != nil {
			f.field("parts").fail("%s", bench.Sentence(err))
		}
	} else {
		for line := range strings.Lines(f.field("references").Value) {
			if line = strings.TrimSpace(line); line == "" {
				continue
			}
			mm, err := parseLength(line, lengths)
			if err != nil {
				f.field("references").fail("%q is not a length; one a line.", line)
			}
			plan.References = append(plan.References, mm)
		}
	}
	if f.ok() {
		st, err := s.opt.Record.StartStudy(c.Request.Context(), by, g.ID, plan)
		if err == nil {
			c.Redirect(http.StatusSeeOther, "/studies/"+url.PathEscape(st.ID))
			return
		}
		f.Error = bench.Sentence(err)
	}
	s.render(c, http.StatusUnprocessableEntity, "studynew", "Plan a study of the "+g.Name, newStudyPage{g, f})
}

// studyPage is one study: what came out of it, or how far it is.
type studyPage struct {
	Study    batch.GaugeStudy
	Gauge    batch.Gauge
	Kind     string
	Sentence string
	Of       int
	OnBench  bool
	Order    []orderRow   // for whoever hands the pieces over
	Result   *studyResult // nil before it is finished
	Use      *form        // who uses its outcome
	GiveUp   *form        // who gives it up, and why
	Error    string
}

// findStudy reads the study of the page's address with its gauge.
func (s *server) findStudy(c *gin.Context) (st batch.GaugeStudy, g batch.Gauge, err error) {
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
type studyForms struct{ Use, GiveUp *form }

// useForm asks who makes a study's outcome the gauge's uncertainty.
func (s *server) useForm(c *gin.Context) (*form, error) {
	by, err := s.byField(c, batch.QualityManager)
	return &form{Groups: []fieldGroup{{Fields: []field{by}}}}, err
}

// giveUpForm asks who gives a study up, and why.
func (s *server) giveUpForm(c *gin.Context) (*form, error) {
	f, err := s.useForm(c)
	f.Groups[0].Fields = append(f.Groups[0].Fields, field{Name: "reason", Label: "Reason", Kind: "text", Allowed: "in a few words", Needed: true})
	return f, err
}

func (s *server) study(c *gin.Context) { s.showStudy(c, http.StatusOK, "", studyForms{}) }

func (s *server) showStudy(c *gin.Context, status int, problem string, forms studyForms) {
	st, g, err := s.findStudy(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := studyPage{Study: st, Gauge: g, Kind: kindOfStudy(st.Plan.Kind), Error: problem}
	steps, err := st.Plan.Steps()
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Of = len(steps)
	all, err := s.opt.Record.StudyReadings(c.Request.Context(), st.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	standing := batch.StandingStudy(all)
	p.Order = runningOrder(steps, standing)
	if forms.Use == nil {
		if forms.Use, err = s.useForm(c); err != nil {
			s.fail(c, err)
			return
		}
	}
	if forms.GiveUp == nil {
		if forms.GiveUp, err = s.giveUpForm(c); err != nil {
			s.fail(c, err)
			return
		}
	}
	p.Use, p.GiveUp = forms.Use, forms.GiveUp
	if on := s.opt.Bench.Snapshot().Study; on != nil {
		p.OnBench = on.ID == st.ID
	}
	switch st.State {
	case batch.StudyFinished:
		r := resultOf(st.Plan, standing, g.ResolutionMM, unitOf(c))
		p.Result, p.Sentence = &r, r.Answer
	case batch.StudyGivenUp:
		p.Sentence = fmt.Sprintf("Given up by %s: %s. %s kept.", st.StateBy, strings.TrimSuffix(st.Reason, "."), counted(len(standing), "reading is", "readings are"))
	default:
		p.Sentence = fmt.Sprintf("%d of %d readings taken.", len(standing), p.Of)
	}
	s.render(c, status, "study", upperFirst(p.Kind)+" of the "+g.Name, p)
}

func (s *server) studyToBench(c *gin.Context) {
	if err := s.opt.Bench.BeginStudy(c.Request.Context(), c.Param("study")); err != nil {
		s.showStudy(c, http.StatusConflict, bench.Sentence(err), studyForms{})
		return
	}
	c.Redirect(http.StatusSeeOther, "/")
}

func (s *server) leaveStudy(c *gin.Context) {
	if err := s.opt.Bench.LeaveStudy(c.Request.Context()); err != nil {
		s.showStudy(c, http.StatusConflict, bench.Sentence(err), studyForms{})
		return
	}
	c.Redirect(http.StatusSeeOther, "/studies/"+url.PathEscape(c.Param("study")))
}

// useStudy makes what a study found the gauge's repeatability; every later reading carries it.
func (s *server) useStudy(c *gin.Context) {
	st, g, err := s.findStudy(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f, err := s.useForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	by := f.choice("by")
	all, err := s.opt.Record.StudyReadings(c.Request.Context(), st.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	r := resultOf(st.Plan, batch.StandingStudy(all), g.ResolutionMM, unit.Millimetre)
	switch {
	case r.Repeatability <= 0:
		s.showStudy(c, http.StatusUnprocessableEntity, "This study gives no repeatability to use.", studyForms{Use: f})
	case !f.ok():
		s.showStudy(c, http.StatusUnprocessableEntity, "", studyForms{Use: f})
	default:
		if err := s.opt.Record.UseStudy(c.Request.Context(), by, st.ID, r.Repeatability); err != nil {
			s.showStudy(c, http.StatusConflict, bench.Sentence(err), studyForms{Use: f})
			return
		}
		s.gaugesChanged(c, "/studies/"+url.PathEscape(st.ID))
	}
}

func (s *server) giveStudyUp(c *gin.Context) {
	f, err := s.giveUpForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	by, reason := f.choice("by"), f.text("reason", 300)
	if !f.ok() {
		s.showStudy(c, http.StatusUnprocessableEntity, "", studyForms{GiveUp: f})
		return
	}
	if err := s.opt.Record.EndStudy(c.Request.Context(), by, c.Param("study"), batch.StudyGivenUp, reason); err != nil {
		s.showStudy(c, http.StatusConflict, bench.Sentence(err), studyForms{GiveUp: f})
		return
	}
	if on := s.opt.Bench.Snapshot().Study; on != nil && on.ID == c.Param("study") {
		if err := s.opt.Bench.LeaveStudy(c.Request.Context()); err != nil {
			s.fail(c, err)
			return
		}
	}
	c.Redirect(http.StatusSeeOther, "/studies/"+url.PathEscape(c.Param("study")))
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
