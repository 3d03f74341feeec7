package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// gaugesPage lists the gauges with their health in words.
type gaugesPage struct {
	Sentence string
	Gauges   []gaugeLine
	Retired  []batch.Gauge
	Ports    []portLine
	Listens  bool  // ports can be listened to
	PortForm *form // names a port that is not listed
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
func (s *server) lineOf(c *gin.Context, g batch.Gauge, checks []batch.GaugeCheck) gaugeLine {
	l := gaugeLine{Gauge: g, Measured: measuresWords(g), Identity: g.Identity(), Decoded: decoderWords(g.Decoder), U: g.U(), Due: checkDue(g, checks), NoCheck: g.NoCheck(), OnlySwitch: g.OnlySwitch()}
	if n := len(checks); n > 0 {
		l.Last = &checks[n-1]
	}
	now := s.opt.Now()
	l.Overdue = !l.Due.IsZero() && now.After(l.Due)
	l.CertDue = g.CertificateOverdue(now)
	if l.CertDue {
		l.Warnings = append(l.Warnings, "Its calibration ran out on "+day(g.CertificateDue)+". It is locked out of verdicts until it is calibrated and its new certificate entered below.")
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
		for _, name := range coarseLimits(b.Spec.Spec, g) {
			l.Warnings = append(l.Warnings, fmt.Sprintf("Too coarse for %s of %s, revision %s: its U of %s is over a quarter of the tolerance.",
				name, b.Spec.Name, b.Spec.Revision, fineLength(2*l.U, unitOf(c))+" "+unitOf(c).String()))
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
		words[i] = kindWords[k]
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

// coarseLimits names the two-sided limits in mm that a gauge is used for and too coarse for: U = 2 u of one reading
// is over a quarter of the tolerance.
func coarseLimits(spec *inspect.Spec, g batch.Gauge) []string {
	rests := map[string][]batch.Kind{
		"action": {batch.ActionHeight}, "nut_height": {batch.NutHeight},
		"relief": {batch.Crown, batch.BeamReading}, "relief_max": {batch.Crown},
	}
	var names []string
	for _, l := range spec.Limits {
		if l.LowerMM == nil || l.UpperMM == nil {
			continue
		}
		used := slices.ContainsFunc(rests[l.Characteristic], func(k batch.Kind) bool { return slices.Contains(g.Measures, k) })
		if name := inspect.Name(l.Characteristic); used && 2*g.U() > (*l.UpperMM-*l.LowerMM)/4 && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

func (s *server) gauges(c *gin.Context) { s.showGauges(c, http.StatusOK, portForm()) }

func (s *server) showGauges(c *gin.Context, status int, f *form) {
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
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
			s.fail(c, err)
			return
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
		p.Sentence = fmt.Sprintf("All %d gauges are live and checked", n)
		if n == 1 {
			p.Sentence = "The gauge is live and checked"
		}
		if unchecked > 0 {
			p.Sentence += ", where a check is needed"
		}
		p.Sentence += "."
	case n == 1:
		p.Sentence = "The gauge is not ready: what it needs stands beside it."
	default:
		p.Sentence = fmt.Sprintf("%d of %s %s live and checked; %s.", ready, counted(n, "gauge", "gauges"), pick(ready == 1, "is", "are"), pick(n-ready == 1, "what the other needs stands beside it", "what the others need stands beside them"))
	}
	s.render(c, status, "gauges", "Gauges", p)
}

// gaugePage is one gauge with its checks and its form.
type gaugePage struct {
	New             bool
	Line            gaugeLine
	Checks          []batch.GaugeCheck // newest first
	Events          []batch.GaugeEvent // what befell it, newest first
	Doubts          doubtList
	Twins           []portLine        // adapters alike to its own, itself included; nil when there is no other
	Certificates    []certificateLine // newest first
	CertificateForm *form
	Problem         string // why what was just asked for was not done
	Chart           checkChart
	Studies         []studyLine // newest first
	Form            *form
}

// findGauge reads one gauge; the record keeps a retired one too.
func (s *server) findGauge(c *gin.Context) (batch.Gauge, bool) {
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return batch.Gauge{}, false
	}
	for _, g := range all {
		if g.ID == c.Param("id") {
			return g, true
		}
	}
	s.refuse(c, http.StatusNotFound, "No gauge with this identity is in the record. The page Gauges lists all of them.")
	return batch.Gauge{}, false
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
func (s *server) formOf(c *gin.Context, g batch.Gauge, ports []devices.PortInfo) (*form, error) {
	f := gaugeForm(g, unitOf(c), ports, decoders())
	by, err := s.byField(c)
	by.Label = "Saved by"
	f.Groups = append(f.Groups, fieldGroup{Title: "Who", Fields: []field{by}})
	return f, err
}

func (s *server) newGauge(c *gin.Context) {
	g := batch.Gauge{Sense: 1, Capture: "key", ResolutionMM: 0.01, ZeroLimitMM: 0.01, CheckHours: 12, EachShift: true}
	if fitted := s.fittedGauge(c); fitted != nil {
		g = *fitted
	}
	f, err := s.formOf(c, g, s.seen())
	if err != nil {
		s.fail(c, err)
		return
	}
	s.render(c, http.StatusOK, "gauge", "Add a gauge", gaugePage{New: true, Form: f})
}

func (s *server) gauge(c *gin.Context) {
	if g, found := s.findGauge(c); found {
		f, err := s.formOf(c, g, s.seen())
		if err != nil {
			s.fail(c, err)
			return
		}
		s.showGauge(c, http.StatusOK, g, gaugeForms{Entry: f})
	}
}

// gaugeForms are the forms of a gauge's page, nil ones are made anew, and why what was just asked for was not done.
type gaugeForms struct {
	Entry, Certificate *form
	Problem            string
}

// refuseAtGauge shows a gauge with the sentence that says why something was not done.
func (s *server) refuseAtGauge(c *gin.Context, g batch.Gauge, problem string) {
	s.showGauge(c, http.StatusConflict, g, gaugeForms{Problem: problem})
}

// showGauge shows a gauge with its forms.
func (s *server) showGauge(c *gin.Context, status int, g batch.Gauge, forms gaugeForms) {
	var err error
	f, certificate := forms.Entry, forms.Certificate
	if f == nil {
		if f, err = s.formOf(c, g, s.seen()); err != nil {
			s.fail(c, err)
			return
		}
	}
	if certificate == nil {
		if certificate, err = s.certificateForm(c, g); err != nil {
			s.fail(c, err)
			return
		}
	}
	checks, err := s.opt.Record.GaugeChecks(c.Request.Context(), g.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	doubts, err := s.doubtsOf(c.Request.Context(), batch.DoubtFilter{GaugeID: g.ID}, "gauge="+url.QueryEscape(g.ID))
	if err != nil {
		s.fail(c, err)
		return
	}
	events, err := s.opt.Record.GaugeEvents(c.Request.Context(), g.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := gaugePage{Doubts: doubts, Twins: s.twins(g, all), Line: s.lineOf(c, g, checks), Form: f, Problem: forms.Problem, Chart: chartOf(g, checks, unitOf(c), s.opt.Now())}
	p.Checks, p.Events = slices.Clone(checks), events
	slices.Reverse(p.Checks)
	slices.Reverse(p.Events)
	p.CertificateForm = certificate
	if p.Certificates, err = s.certificatesOf(c, g); err != nil {
		s.fail(c, err)
		return
	}
	if p.Studies, err = s.studiesOf(c, g); err != nil {
		s.fail(c, err)
		return
	}
	s.render(c, status, "gauge", g.Name, p)
}

func (s *server) saveNewGauge(c *gin.Context) { s.saveGauge(c, batch.Gauge{}) }

func (s *server) saveOldGauge(c *gin.Context) {
	if g, found := s.findGauge(c); found {
		s.saveGauge(c, g)
	}
}

// saveGauge saves a new gauge or a changed one, and lets the station take it up.
func (s *server) saveGauge(c *gin.Context, old batch.Gauge) {
	ports := s.seen()
	f, err := s.formOf(c, old, ports)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	by := f.choice("by")
	g := gaugeFrom(f, old, unitOf(c), ports)
	if err := s.answerable(c, f, old, g); err != nil {
		s.fail(c, err)
		return
	}
	if f.field("own_decoder").Value == g.Decoder && g.Decoder != "" {
		if _, err := decode.Load("own decoder", []byte(g.Decoder)); err != nil {
			f.field("own_decoder").fail("%s", bench.Sentence(err))
		}
	}
	if f.ok() && s.opt.GaugeFits != nil {
		if err := s.opt.GaugeFits(c.Request.Context(), g); err != nil {
			f.Error = bench.Sentence(err)
		}
	}
	if f.ok() && f.Error == "" {
		saved, err := s.opt.Record.SaveGauge(c.Request.Context(), by, g)
		if err == nil {
			s.gaugesChanged(c, "/gauges/"+url.PathEscape(saved.ID))
			return
		}
		f.Error = bench.Sentence(err)
	}
	if old.ID == "" {
		s.render(c, http.StatusUnprocessableEntity, "gauge", "Add a gauge", gaugePage{New: true, Form: f})
		return
	}
	s.showGauge(c, http.StatusUnprocessableEntity, old, gaugeForms{Entry: f})
}

// answerable marks what is missing where typed figures change what verdicts rest on: a quality manager's name, and where
// the figures come from.
func (s *server) answerable(c *gin.Context, f *form, old, g batch.Gauge) error {
	if old.ID == "" {
		old.ResolutionMM = g.ResolutionMM // of a new gauge it is what its display shows
	}
	if g.JudgesAs(old) {
		return nil
	}
	if f.field("u_reason").Value == "" {
		f.field("u_reason").fail("Verdicts rest on these figures, and they change. Say where they come from.")
	}
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	by := f.field("by")
	for _, p := range all {
		if p.Name == by.Value && p.Role != batch.QualityManager {
			by.fail("%s is entered as %s. Verdicts rest on the figures that change: choose a quality manager.", p.Name, p.Role)
		}
	}
	return nil
}

// gaugesChanged lets the station open the lines anew and goes on to the page given.
func (s *server) gaugesChanged(c *gin.Context, to string) {
	if s.opt.GaugesChanged != nil {
		if err := s.opt.GaugesChanged(c.Request.Context()); err != nil {
			s.fail(c, fmt.Errorf("the gauge is saved, but its line could not be opened: %w", err))
			return
		}
	}
	c.Redirect(http.StatusSeeOther, to)
}

func (s *server) retireGauge(c *gin.Context) {
	g, found := s.findGauge(c)
	if !found {
		return
	}
	f, err := s.formOf(c, g, s.seen())
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c) // what else was typed stays, should it be refused
	if by := f.choice("by"); f.ok() {
		if err = s.opt.Record.RetireGauge(c.Request.Context(), by, g.ID); err == nil {
			s.gaugesChanged(c, "/gauges")
			return
		}
		f.Error = bench.Sentence(err)
	}
	s.showGauge(c, http.StatusUnprocessableEntity, g, gaugeForms{Entry: f})
}

// dropGauge notes that a gauge fell, under the name of the inspector on the bench.
func (s *server) dropGauge(c *gin.Context) {
	g, found := s.findGauge(c)
	if !found {
		return
	}
	switch by := s.by(c); {
	case s.opt.Bench == nil:
		s.refuseAtGauge(c, g, "This station has no bench: a drop is noted where the gauge is used.")
	case by == "":
		s.refuseAtGauge(c, g, "A drop is noted under a name: choose the inspector on the bench first.")
	default:
		if err := s.opt.Bench.ReportDrop(c.Request.Context(), by, g.ID); err != nil {
			s.refuseAtGauge(c, g, bench.Sentence(err))
			return
		}
		c.Redirect(http.StatusSeeOther, "/gauges/"+url.PathEscape(g.ID))
	}
}

// checkGauge starts a check; it is done on the bench.
func (s *server) checkGauge(c *gin.Context) {
	g, found := s.findGauge(c)
	if !found {
		return
	}
	if s.opt.Bench == nil {
		s.refuseAtGauge(c, g, "This station has no bench: a check needs the gauge's line.")
		return
	}
	if err := s.opt.Bench.CheckGauge(c.Request.Context(), g.ID); err != nil {
		s.refuseAtGauge(c, g, bench.Sentence(err))
		return
	}
	c.Redirect(http.StatusSeeOther, "/")
}
