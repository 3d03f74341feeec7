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
	Kind            batch.GaugeKind // that the form is for
	Kinds           []kindLine      // that the form could be for
	Learnt          *learntEntry    // what the form was filled in from; nil where from nothing
	Signatures      []string
	Gone            bool // what was learnt is not to be had any more
}

// formOf is a gauge's form with who saves it.
func (s *server) formOf(c *site.Request, g batch.Gauge, ports []devices.PortInfo) (*form.Form, error) {
	f := gaugeForm(g, c.Unit(), ports, s.decoders())
	by, err := c.ByField(batch.SetUp)
	by.Label = "Saved by"
	if by.Kind == "signed" && by.Barred == "" && c.Session().Person.May(batch.TypeU) {
		by.Meaning = "retire the gauge, or to change figures that verdicts rest on (else leave it empty)"
		by.Needed = false
	}
	f.Groups = append(f.Groups, form.Group{Title: "Who", Fields: []form.Field{by}})
	return f, err
}

// newGauge asks how a new gauge sends what it shows; of a kind it shows the form, filled in with what is usual, or was learnt.
func (s *server) newGauge(c *site.Request) error {
	kind := batch.GaugeKind(c.Query("kind"))
	if !slices.Contains(batch.GaugeKinds, kind) {
		return s.showNew(c, http.StatusOK, portForm())
	}
	g := newOf(kind, c.Unit())
	learnt := s.learntGauge(c)
	if learnt != nil {
		learnt.fill(&g)
	}
	f, err := s.formOf(c, g, s.seen())
	if err != nil {
		return err
	}
	learnt.ask(f)
	return c.Show(http.StatusOK, "gauge", "Add a gauge", gaugePage{New: true, Form: f, Learnt: learnt, Kind: kind})
}

// newGaugePage asks how a new gauge sends what it shows.
type newGaugePage struct {
	Ports         []portLine
	Listens       bool
	PortForm      *form.Form
	ByEye, ByHand []kindLine
}

// showNew asks how a new gauge sends what it shows.
func (s *server) showNew(c *site.Request, status int, f *form.Form) error {
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	byHand := append(slices.Clone(kindsWithLine), batch.FootSwitchGauge, batch.LampGauge)
	return c.Show(status, "newgauge", "Add a gauge", newGaugePage{Ports: s.portLines(all), Listens: s.opt.Lines != nil, PortForm: f, ByEye: kindLines(kindsByEye, ""), ByHand: kindLines(byHand, "")})
}

func (s *server) gauge(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	if kind := batch.GaugeKind(c.Query("kind")); slices.Contains(batch.GaugeKinds, kind) { // the fields that it would have
		g.Kind = kind
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
	signed, err := show.SignaturesOf(c.Request.Context(), s.opt.Record, g.Name, nil)
	if err != nil {
		return err
	}
	p := gaugePage{Signatures: signed, Rule: tell.CertificateRule, Doubts: doubts, Twins: s.twins(g, all), Line: s.lineOf(c, g, checks), Form: f, Kind: g.Kind, Kinds: kindsFor(g), Problem: forms.Problem, Chart: chartOf(g, checks, c.Unit(), s.opt.Now())}
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

// kindOfForm is the kind that a sent form is for; one that does not say it is told by what the gauge measures.
func kindOfForm(c *site.Request, old batch.Gauge) batch.GaugeKind {
	if kind := batch.GaugeKind(c.PostForm("kind")); slices.Contains(batch.GaugeKinds, kind) {
		return kind
	}
	if old.Kind != "" {
		return old.Kind
	}
	g := batch.Gauge{Capture: c.PostForm("capture")}
	for _, k := range c.PostFormArray("measures") {
		g.Measures = append(g.Measures, batch.Kind(k))
	}
	g.NameKind()
	return g.Kind
}

// saveGauge saves a new gauge or a changed one, and lets the station take it up.
func (s *server) saveGauge(c *site.Request, old batch.Gauge) error {
	ports := s.seen()
	g := old
	if g.Kind = kindOfForm(c, old); g.Kind != old.Kind {
		g.Measures = nil // what is usual of its kind, or is ticked
	}
	f, err := s.formOf(c, g, ports)
	if err != nil {
		return err
	}
	learnt := s.learntGauge(c)
	learnt.ask(f)
	f.Fill(c)
	by := f.Choice("by")
	g = gaugeFrom(f, g, c.Unit(), ports)
	g.Decoder = s.decoderOf(g.Decoder)
	learnt.compared(f)
	gone := learnt == nil && c.PostForm("learnt") != ""
	if gone {
		f.Refuse(batch.Conflict.Errorf("what was heard of this gauge is gone: the station was started anew, or another line was listened to since; listen to it again, so that its values can be compared with its display"))
	}
	if err := s.answerable(c, f, old, g); err != nil {
		return err
	}
	own := f.Field("own_decoder").Value == g.Decoder && g.Decoder != ""
	if own {
		if _, err := decode.Load("own decoder", []byte(g.Decoder)); err != nil {
			f.RefuseAt("own_decoder", batch.Mendable.Of(err))
		}
	}
	if f.Ok() && s.opt.GaugeFits != nil {
		if err := s.opt.GaugeFits(c.Request.Context(), g); err != nil {
			f.Refuse(err)
		}
	}
	if f.Ok() && own && learnt != nil {
		if err := s.keepDecoder(g.Name, g.Decoder); err != nil {
			f.Refuse(batch.Machine.Of(err))
		}
	}
	if f.Ok() {
		saved, err := s.opt.Record.SaveGauge(c.Request.Context(), by, g)
		if err == nil {
			if learnt != nil {
				s.search.end() // its port is the gauge's now
			}
			return s.gaugesChanged(c, "/gauges/"+url.PathEscape(saved.ID))
		}
		f.Refuse(err)
	}
	if old.ID == "" {
		return c.Show(c.Refused(f), "gauge", "Add a gauge", gaugePage{New: true, Form: f, Learnt: learnt, Gone: gone, Kind: g.Kind})
	}
	old.Kind = g.Kind
	return s.showGauge(c, c.Refused(f), old, gaugeForms{Entry: f})
}

// answerable marks what is missing where typed figures change what verdicts rest on: a quality manager's name, and where
// the figures come from.
func (s *server) answerable(c *site.Request, f *form.Form, old, g batch.Gauge) error {
	if !g.Retyped(old) {
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
			w := c.Words()
			by.Fail("%s is entered as %s. Verdicts rest on the figures that change: choose a %s.", p.Name, w.Role(p.Role), w.Role(batch.QualityManager))
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
