// Package studies is the pages of gauge studies: planned, on the bench, evaluated and used.
package studies

import (
	"context"
	"embed"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	StartStudy(ctx context.Context, by, gaugeID string, plan batch.StudyPlan) (batch.GaugeStudy, error)
	EndStudy(ctx context.Context, by, studyID string, state batch.StudyState, reason string) error
	UseStudy(ctx context.Context, by, studyID string, repeatabilityMM float64) error
	Study(ctx context.Context, id string) (batch.GaugeStudy, error)
	StudyReadings(ctx context.Context, studyID string) ([]batch.StudyReading, error)
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	People(ctx context.Context) ([]batch.Person, error)
}

// Bench is where a study is measured.
type Bench interface {
	Snapshot() *bench.Snapshot
	BeginStudy(ctx context.Context, studyID string) error
	LeaveStudy(ctx context.Context) error
}

// Options are what the pages show and act on.
type Options struct {
	Record        Record
	Bench         Bench                           // nil: the station has none
	GaugesChanged func(ctx context.Context) error // told when a study's outcome became a gauge's
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Gauges", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/gauges/:id/studies/new", s.newStudy)
	g.POST("/gauges/:id/studies", s.startStudy)
	g.GET("/studies/:study", s.study)
	g.POST("/studies/:study/bench", s.studyToBench)
	g.POST("/studies/:study/leave", s.leaveStudy)
	g.POST("/studies/:study/use", s.useStudy)
	g.POST("/studies/:study/give-up", s.giveStudyUp)
	return nil
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
	g, err = show.GaugeOf(c.Request.Context(), s.opt.Record, st.GaugeID)
	return st, g, err
}

// studyForms are the forms of a study's page; nil ones are made anew.
type studyForms struct{ Use, GiveUp *form.Form }

// useForm asks who makes a study's outcome the gauge's uncertainty.
func (s *server) useForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.UseStudy)
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
	p.OnBench = s.onBench(st.ID)
	switch st.State {
	case batch.StudyFinished:
		r := show.StudyResultOf(st.Plan, standing, g.ResolutionMM, c.Unit())
		p.Result, p.Sentence = &r, r.Answer
	case batch.StudyGivenUp:
		p.Sentence = fmt.Sprintf("Given up by %s: %s. %s kept.", st.StateBy, strings.TrimSuffix(st.Reason, "."), tell.Counted(len(standing), "reading is", "readings are"))
	default:
		p.Sentence = fmt.Sprintf("%d of %d readings taken.", len(standing), p.Of)
	}
	return c.Show(status, "study", tell.Upper(p.Kind)+" of the "+g.Name, p)
}

// onBench says whether a study is measured now.
func (s *server) onBench(id string) bool {
	if s.opt.Bench == nil {
		return false
	}
	on := s.opt.Bench.Snapshot().Study
	return on != nil && on.ID == id
}

// noBench refuses what a station without a bench cannot do.
var noBench = batch.Conflict.Errorf("This station has no bench: a study needs the gauge's line.")

func (s *server) studyToBench(c *site.Request) error {
	if s.opt.Bench == nil {
		return noBench
	}
	if err := s.opt.Bench.BeginStudy(c.Request.Context(), c.Param("study")); err != nil {
		return s.showStudy(c, c.StatusOf(err), tell.Sentence(err), studyForms{})
	}
	return c.To("/")
}

func (s *server) leaveStudy(c *site.Request) error {
	if s.opt.Bench == nil {
		return noBench
	}
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
	if err := s.opt.GaugesChanged(c.Request.Context()); err != nil {
		return err
	}
	return c.To("/studies/" + url.PathEscape(st.ID))
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
	if s.onBench(c.Param("study")) {
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
