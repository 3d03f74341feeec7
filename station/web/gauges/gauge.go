package gauges

import (
	"net/http"
	"net/url"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// gaugePage is one gauge with its checks and its form.
type gaugePage struct {
	New             bool
	Line            gaugeLine
	Checks          []batch.GaugeCheck // newest first
	Events          []batch.GaugeEvent // what happened to it, newest first
	Rule            string             // what a certificate's state as found does
	Doubts          show.DoubtList
	Twins           []portLine        // adapters alike to its own, itself included; nil when there is no other
	Certificates    []certificateLine // newest first
	CertificateForm *form.Form
	Problem         string // why what was just asked for was not done
	Chart           checkChart
	Studies         []show.StudyLine // newest first
	Form            *form.Form
}

// formOf is a gauge's form with who saves it.
func (s *server) formOf(c *site.Request, g batch.Gauge, ports []devices.PortInfo) (*form.Form, error) {
	f := gaugeForm(g, c.Unit(), ports, decoders())
	by, err := c.ByField()
	by.Label = "Saved by"
	f.Groups = append(f.Groups, form.Group{Title: "Who", Fields: []form.Field{by}})
	return f, err
}

func (s *server) newGauge(c *site.Request) error {
	g := batch.Gauge{Sense: 1, Capture: "key", ResolutionMM: 0.01, ZeroLimitMM: 0.01, CheckHours: 12, EachShift: true}
	if fitted := s.fittedGauge(c); fitted != nil {
		g = *fitted
	}
	f, err := s.formOf(c, g, s.seen())
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "gauge", "Add a gauge", gaugePage{New: true, Form: f})
}

func (s *server) gauge(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.formOf(c, g, s.seen())
	if err != nil {
		return err
	}
	return s.showGauge(c, http.StatusOK, g, gaugeForms{Entry: f})
}

// gaugeForms are the forms of a gauge's page, nil ones are made anew, and why what was just asked for was not done.
type gaugeForms struct {
	Entry, Certificate *form.Form
	Problem            string
}

// refuseAtGauge shows a gauge with the sentence that says why something was not done.
func (s *server) refuseAtGauge(c *site.Request, g batch.Gauge, why error) error {
	return s.showGauge(c, c.StatusOf(why), g, gaugeForms{Problem: tell.Sentence(why)})
}

// showGauge shows a gauge with its forms.
func (s *server) showGauge(c *site.Request, status int, g batch.Gauge, forms gaugeForms) error {
	var err error
	f, certificate := forms.Entry, forms.Certificate
	if f == nil {
		if f, err = s.formOf(c, g, s.seen()); err != nil {
			return err
		}
	}
	if certificate == nil {
		if certificate, err = s.certificateForm(c, g); err != nil {
			return err
		}
	}
	checks, err := s.opt.Record.GaugeChecks(c.Request.Context(), g.ID)
	if err != nil {
		return err
	}
	doubts, err := show.DoubtsOf(c.Request.Context(), s.opt.Record, batch.DoubtFilter{GaugeID: g.ID}, "gauge="+url.QueryEscape(g.ID), c.Unit(), s.opt.Now())
	if err != nil {
		return err
	}
	events, err := s.opt.Record.GaugeEvents(c.Request.Context(), g.ID)
	if err != nil {
		return err
	}
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	p := gaugePage{Rule: tell.CertificateRule, Doubts: doubts, Twins: s.twins(g, all), Line: s.lineOf(c, g, checks), Form: f, Problem: forms.Problem, Chart: chartOf(g, checks, c.Unit(), s.opt.Now())}
	p.Checks, p.Events = slices.Clone(checks), events
	slices.Reverse(p.Checks)
	slices.Reverse(p.Events)
	p.CertificateForm = certificate
	if p.Certificates, err = s.certificatesOf(c, g); err != nil {
		return err
	}
	if p.Studies, err = show.StudiesOf(c.Request.Context(), s.opt.Record, g, c.Unit()); err != nil {
		return err
	}
	return c.Show(status, "gauge", g.Name, p)
}

func (s *server) saveNewGauge(c *site.Request) error { return s.saveGauge(c, batch.Gauge{}) }

func (s *server) saveOldGauge(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	return s.saveGauge(c, g)
}

// saveGauge saves a new gauge or a changed one, and lets the station take it up.
func (s *server) saveGauge(c *site.Request, old batch.Gauge) error {
	ports := s.seen()
	f, err := s.formOf(c, old, ports)
	if err != nil {
		return err
	}
	f.Fill(c)
	by := f.Choice("by")
	g := gaugeFrom(f, old, c.Unit(), ports)
	if err := s.answerable(c, f, old, g); err != nil {
		return err
	}
	if f.Field("own_decoder").Value == g.Decoder && g.Decoder != "" {
		if _, err := decode.Load("own decoder", []byte(g.Decoder)); err != nil {
			f.RefuseAt("own_decoder", batch.Mendable.Of(err))
		}
	}
	if f.Ok() && s.opt.GaugeFits != nil {
		if err := s.opt.GaugeFits(c.Request.Context(), g); err != nil {
			f.Refuse(err)
		}
	}
	if f.Ok() {
		saved, err := s.opt.Record.SaveGauge(c.Request.Context(), by, g)
		if err == nil {
			return s.gaugesChanged(c, "/gauges/"+url.PathEscape(saved.ID))
		}
		f.Refuse(err)
	}
	if old.ID == "" {
		return c.Show(c.Refused(f), "gauge", "Add a gauge", gaugePage{New: true, Form: f})
	}
	return s.showGauge(c, c.Refused(f), old, gaugeForms{Entry: f})
}

// answerable marks what is missing where typed figures change what verdicts rest on: a quality manager's name, and where
// the figures come from.
func (s *server) answerable(c *site.Request, f *form.Form, old, g batch.Gauge) error {
	if old.ID == "" {
		old.ResolutionMM = g.ResolutionMM // of a new gauge it is what its display shows
	}
	if g.JudgesAs(old) {
		return nil
	}
	if f.Field("u_reason").Value == "" {
		f.Field("u_reason").Fail("Verdicts rest on these figures, and they change. Say where they come from.")
	}
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	by := f.Field("by")
	for _, p := range all {
		if p.Name == by.Value && p.Role != batch.QualityManager {
			by.Fail("%s is entered as %s. Verdicts rest on the figures that change: choose a quality manager.", p.Name, p.Role)
		}
	}
	return nil
}

// gaugesChanged lets the station open the lines anew and goes on to the page given.
func (s *server) gaugesChanged(c *site.Request, to string) error {
	if err := s.opt.GaugesChanged(c.Request.Context()); err != nil {
		return err
	}
	return c.To(to)
}

func (s *server) retireGauge(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.formOf(c, g, s.seen())
	if err != nil {
		return err
	}
	f.Fill(c) // what else was typed stays, should it be refused
	if by := f.Choice("by"); f.Ok() {
		if err = s.opt.Record.RetireGauge(c.Request.Context(), by, g.ID); err == nil {
			return s.gaugesChanged(c, "/gauges")
		}
		f.Refuse(err)
	}
	return s.showGauge(c, c.Refused(f), g, gaugeForms{Entry: f})
}

// dropGauge notes that a gauge fell.
func (s *server) dropGauge(c *site.Request) error { return s.report(c, batch.CheckDrop) }

// powerGauge notes that a gauge was without power.
func (s *server) powerGauge(c *site.Request) error { return s.report(c, batch.CheckPowerUp) }

// report notes what happened to a gauge, under the name of the inspector on the bench.
func (s *server) report(c *site.Request, what string) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	switch by := c.By(); {
	case s.opt.Bench == nil:
		return s.refuseAtGauge(c, g, batch.Conflict.Errorf("This station has no bench: what happens to a gauge is noted where it is used."))
	case by == "":
		return s.refuseAtGauge(c, g, batch.Conflict.Errorf("What happened to a gauge is noted under a name: choose the inspector on the bench first."))
	default:
		if err := s.opt.Bench.ReportEvent(c.Request.Context(), by, g.ID, what); err != nil {
			return s.refuseAtGauge(c, g, err)
		}
	}
	return c.To("/gauges/" + url.PathEscape(g.ID))
}

// checkGauge starts a check; it is done on the bench.
func (s *server) checkGauge(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	if s.opt.Bench == nil {
		return s.refuseAtGauge(c, g, batch.Conflict.Errorf("This station has no bench: a check needs the gauge's line."))
	}
	if err := s.opt.Bench.CheckGauge(c.Request.Context(), g.ID); err != nil {
		return s.refuseAtGauge(c, g, err)
	}
	return c.To("/")
}
