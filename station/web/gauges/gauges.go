// Package gauges is the pages of gauges: what is on file of each and how it is now, its checks and certificates, and which
// gauge is on a port.
package gauges

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/bench"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	show.SignatureRecord
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	SaveGauge(ctx context.Context, by string, g batch.Gauge) (batch.Gauge, error)
	RetireGauge(ctx context.Context, by, gaugeID string) error
	GaugeChecks(ctx context.Context, gaugeID string) ([]batch.GaugeCheck, error)
	GaugeEvents(ctx context.Context, gaugeID string) ([]batch.GaugeEvent, error)

	Certificates(ctx context.Context, gaugeID string) ([]batch.Certificate, error)
	CertificateFile(ctx context.Context, id string) (batch.Certificate, []byte, error)
	AddCertificate(ctx context.Context, by string, c batch.Certificate, file []byte) (batch.Certificate, error)

	Studies(ctx context.Context, gaugeID string) ([]batch.GaugeStudy, error)
	StudyReadings(ctx context.Context, studyID string) ([]batch.StudyReading, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	Batch(ctx context.Context, number string) (batch.Batch, error)
	People(ctx context.Context) ([]batch.Person, error)
}

// Bench is where gauges are used and checked.
type Bench interface {
	Snapshot() *bench.Snapshot
	CheckGauge(ctx context.Context, id string) error
	ReportEvent(ctx context.Context, by, id, what string) error
	ReloadDoubt(ctx context.Context) error
}

// Options are what the pages show and act on.
type Options struct {
	Record        Record
	Bench         Bench                                          // nil: the station has none
	Ports         func() ([]devices.PortInfo, error)             // that can be seen now; nil: none
	Lines         Lines                                          // nil: ports cannot be listened to
	DecoderDir    string                                         // of the decoders that are made of what gauges send; "": they are kept with their gauges alone
	GaugesChanged func(ctx context.Context) error                // told when a gauge's entry was added, changed or retired
	GaugeFits     func(ctx context.Context, g batch.Gauge) error // whether the station could open all lines with this entry; nil: not asked
	Now           func() time.Time
}

type server struct {
	opt    Options
	search search // of an unknown gauge's decoder
}

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Gauges", files, template.FuncMap{"mayNot": devices.MayNot, "helpOnGauge": show.HelpOnGauge, "kilobytes": func(bytes int) int { return (bytes + 999) / 1000 }, "gaugeKinds": func() map[batch.GaugeKind]string { return tell.GaugeKinds }})
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/gauges", s.gauges)
	g.POST("/gauges", s.saveNewGauge)
	g.GET("/gauges/new", s.newGauge)
	g.GET("/gauges/identify", s.identify)
	g.POST("/gauges/identify", s.startIdentify)
	g.GET("/gauges/identify/now", s.identifyNow)
	g.POST("/gauges/identify/stop", s.stopIdentify)
	g.POST("/gauges/identify/typed", s.identifyTyped)
	g.POST("/gauges/identify/choice", s.chooseIdentify)
	g.GET("/gauges/:id", s.gauge)
	g.POST("/gauges/:id", s.saveOldGauge)
	g.POST("/gauges/:id/which", s.whichTwin)
	g.POST("/gauges/:id/check", s.checkGauge)
	g.POST("/gauges/:id/drop", s.dropGauge)
	g.POST("/gauges/:id/power", s.powerGauge)
	g.POST("/gauges/:id/retire", s.retireGauge)
	g.POST("/gauges/:id/certificates", s.addCertificate)
	g.GET("/gauges/:id/certificates/:certificate", s.certificateFile)
	return nil
}

// gaugesPage lists the gauges with their health in words.
type gaugesPage struct {
	Sentence string
	Gauges   []gaugeLine
	Retired  []batch.Gauge
	Ports    []portLine
}

// gaugeLine is one gauge: what is on file, and how it is now.
type gaugeLine struct {
	batch.Gauge
	Live     *bench.GaugeLine // nil when the bench does not know it
	Shape    string           // of its state
	Measured string           // "crown heights, action"
	Identity string
	Decoded  string // the decoder's name
	U        float64
	Last     *batch.GaugeCheck
	Due      time.Time
	Overdue  bool
	NoCheck  bool   // it needs none
	WhyNone  string // why
	ByEye    bool
	NoGauge  bool // it is a foot switch or a lamp on a port of its own
	CertDue  bool // the certificate has run out
	Warnings []string
}

// lineOf puts a gauge in words.
func (s *server) lineOf(c *site.Request, g batch.Gauge, checks []batch.GaugeCheck) gaugeLine {
	l := gaugeLine{Gauge: g, Measured: measuresWords(g), Identity: g.Identity(), Decoded: decoderWords(g.Decoder), U: g.U(), Due: checkDue(g, checks), NoCheck: g.NoCheck(), WhyNone: tell.NoCheck(&g), ByEye: g.ByEye(), NoGauge: g.NoGauge()}
	if n := len(checks); n > 0 {
		l.Last = &checks[n-1]
	}
	now := s.opt.Now()
	l.Overdue = !l.Due.IsZero() && now.After(l.Due)
	l.CertDue = g.CertificateOverdue(now)
	if l.CertDue {
		l.Warnings = append(l.Warnings, "Its calibration ran out on "+show.Day(g.CertificateDue)+". It is locked out of verdicts until it is calibrated and its new certificate entered below.")
	}
	if g.Proposed() {
		l.Warnings = append(l.Warnings, "Its U of "+show.Uncertainty(2*l.U, c.Unit())+" is proposed from its kind and resolution: enter its certificate, and take over what a study of it finds.")
	}
	if g.OnlyDigits() {
		l.Warnings = append(l.Warnings, "Its U of "+show.Uncertainty(2*l.U, c.Unit())+" is its last digit's alone: enter its certificate, and take over what a study of it finds.")
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
				name, b.Spec.Name, b.Spec.Revision, show.Uncertainty(2*l.U, c.Unit())))
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
		words[i] = tell.Kinds[k]
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

func (s *server) gauges(c *site.Request) error {
	all, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	p := gaugesPage{Ports: s.portLines(all)}
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
	return c.Show(http.StatusOK, "gauges", "Gauges", p)
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
