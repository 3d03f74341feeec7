package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// gaugesPage lists the gauges with their health in words.
type gaugesPage struct {
	Sentence string
	Gauges   []gaugeLine
	Retired  []batch.Gauge
	Ports    []portLine
	Listens  bool       // ports can be listened to
	PortForm *form.Form // names a port that is not listed
}

// gaugeLine is one gauge: what is on file, and how it is now.
type gaugeLine struct {
	batch.Gauge
	Live       *bench.GaugeLine // nil when the bench does not know it
	Shape      string           // of its state
	Measured   string           // "crown heights, action"
	Identity   string
	Decoded    string // the decoder's name
	U          float64
	Last       *batch.GaugeCheck
	Due        time.Time
	Overdue    bool
	NoCheck    bool // it needs none
	OnlySwitch bool // it is a foot switch on a port of its own
	CertDue    bool // the certificate has run out
	Warnings   []string
}

// lineOf puts a gauge in words.
func (s *server) lineOf(c *site.Request, g batch.Gauge, checks []batch.GaugeCheck) gaugeLine {
	l := gaugeLine{Gauge: g, Measured: measuresWords(g), Identity: g.Identity(), Decoded: decoderWords(g.Decoder), U: g.U(), Due: checkDue(g, checks), NoCheck: g.NoCheck(), OnlySwitch: g.OnlySwitch()}
	if n := len(checks); n > 0 {
		l.Last = &checks[n-1]
	}
	now := s.opt.Now()
	l.Overdue = !l.Due.IsZero() && now.After(l.Due)
	l.CertDue = g.CertificateOverdue(now)
	if l.CertDue {
		l.Warnings = append(l.Warnings, "Its calibration ran out on "+show.Day(g.CertificateDue)+". It is locked out of verdicts until it is calibrated and its new certificate entered below.")
	}
	if g.OnlyDigits() {
		l.Warnings = append(l.Warnings, "Its U of "+show.Fine(2*l.U, c.Unit())+" "+c.Unit().String()+" is its last digit's alone: enter its certificate, and take over what a study of it finds.")
	}
	if s.opt.Bench != nil {
		lines := s.opt.Bench.Snapshot().Gauges
		for i := range lines {
			if lines[i].ID == g.ID {
				l.Live = &lines[i]
			}
		}
	}
	l.Shape = gaugeShape(l.Live)
	if b := s.benchSpec(); b != nil {
		for _, name := range show.CoarseLimits(b.Spec.Spec, g) {
			l.Warnings = append(l.Warnings, fmt.Sprintf("Too coarse for %s of %s, revision %s: its U of %s is over a quarter of the tolerance.",
				name, b.Spec.Name, b.Spec.Revision, show.Fine(2*l.U, c.Unit())+" "+c.Unit().String()))
		}
	}
	return l
}

// benchSpec is the batch on the bench, nil when none.
func (s *server) benchSpec() *batch.Batch {
	if s.opt.Bench == nil {
		return nil
	}
	return s.opt.Bench.Snapshot().Batch
}

// gaugeShape is the state whose shape stands beside a gauge: out of verdicts, or how its line is.
func gaugeShape(l *bench.GaugeLine) string {
	switch {
	case l == nil:
		return ""
	case l.Locked:
		return "locked out"
	}
	return l.State
}

// measuresWords lists what a gauge measures.
func measuresWords(g batch.Gauge) string {
	words := make([]string, len(g.Measures))
	for i, k := range g.Measures {
		words[i] = show.KindWords[k]
	}
	return strings.Join(words, ", ")
}

// decoderWords names a decoder: a built-in one by its name, an own one by the name in its text.
func decoderWords(nameOrText string) string {
	if !strings.Contains(nameOrText, "\n") {
		return nameOrText
	}
	if d, err := decode.Load("own decoder", []byte(nameOrText)); err == nil {
		return d.Name + " (own description)"
	}
	return "own description"
}

func (s *server) gauges(c *site.Request) error { return s.showGauges(c, http.StatusOK, portForm()) }

func (s *server) showGauges(c *site.Request, status int, f *form.Form) error {
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	p := gaugesPage{Ports: s.portLines(all), Listens: s.opt.Lines != nil, PortForm: f}
	ready, unchecked := 0, 0
	for _, g := range all {
		if !g.RetiredAt.IsZero() {
			p.Retired = append(p.Retired, g)
			continue
		}
		checks, err := s.opt.Record.GaugeChecks(c.Request.Context(), g.ID)
		if err != nil {
			return err
		}
		l := s.lineOf(c, g, checks)
		if l.Shape == string(devices.StateLive) || l.Shape == string(devices.StateWaiting) {
			ready++
		}
		if l.NoCheck {
			unchecked++
		}
		p.Gauges = append(p.Gauges, l)
	}
	switch n := len(p.Gauges); {
	case n == 0:
		p.Sentence = "No gauge is on file yet. Values can be typed at the bench; add a gauge to have them sent."
	case ready == n:
		p.Sentence = fmt.Sprintf("All %d gauges are well and checked", n)
		if n == 1 {
			p.Sentence = "The gauge is well and checked"
		}
		if unchecked > 0 {
			p.Sentence += ", where a check is needed"
		}
		p.Sentence += "."
	case n == 1:
		p.Sentence = "The gauge is not ready: what it needs is said with it."
	default:
		p.Sentence = fmt.Sprintf("%d of %s %s well and checked; %s.", ready, tell.Counted(n, "gauge", "gauges"), show.Pick(ready == 1, "is", "are"), show.Pick(n-ready == 1, "what the other needs is said with it", "what the others need is said with them"))
	}
	return c.Show(status, "gauges", "Gauges", p)
}

// gaugePage is one gauge with its checks and its form.
type gaugePage struct {
	New             bool
	Line            gaugeLine
	Checks          []batch.GaugeCheck // newest first
	Events          []batch.GaugeEvent // what befell it, newest first
	Doubts          show.DoubtList
	Twins           []portLine        // adapters alike to its own, itself included; nil when there is no other
	Certificates    []certificateLine // newest first
	CertificateForm *form.Form
	Problem         string // why what was just asked for was not done
	Chart           checkChart
	Studies         []show.StudyLine // newest first
	Form            *form.Form
}

// seen lists the ports; not being able to list them does not keep a gauge from being edited.
func (s *server) seen() []devices.PortInfo {
	if s.opt.Ports == nil {
		return nil
	}
	ports, err := s.opt.Ports()
	if err != nil {
		return nil
	}
	return ports
}

// decoders are the names of the built-in ones.
func decoders() []string {
	var names []string
	for _, d := range decode.Builtin() {
		names = append(names, d.Name)
	}
	return names
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
	doubts, err := show.DoubtsOf(c.Request.Context(), s.opt.Record, batch.DoubtFilter{GaugeID: g.ID}, "gauge="+url.QueryEscape(g.ID), s.opt.Now())
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
	p := gaugePage{Doubts: doubts, Twins: s.twins(g, all), Line: s.lineOf(c, g, checks), Form: f, Problem: forms.Problem, Chart: chartOf(g, checks, c.Unit(), s.opt.Now())}
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
			f.Refuse(batch.Conflict.Of(err))
		}
	}
	if f.Ok() && f.Error == "" {
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

// dropGauge notes that a gauge fell, under the name of the inspector on the bench.
func (s *server) dropGauge(c *site.Request) error {
	g, err := show.GaugeOf(c.Request.Context(), s.opt.Record, c.Param("id"))
	if err != nil {
		return err
	}
	switch by := c.By(); {
	case s.opt.Bench == nil:
		return s.refuseAtGauge(c, g, batch.Conflict.Errorf("This station has no bench: a drop is noted where the gauge is used."))
	case by == "":
		return s.refuseAtGauge(c, g, batch.Conflict.Errorf("A drop is noted under a name: choose the inspector on the bench first."))
	default:
		if err := s.opt.Bench.ReportDrop(c.Request.Context(), by, g.ID); err != nil {
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
