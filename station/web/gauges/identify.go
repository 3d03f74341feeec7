package gauges

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/station/binding"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// Lines listens to ports that no gauge's line has open.
type Lines interface {
	// Identify tries line settings and decoders on what a port sends, and tells each trial.
	Identify(ctx context.Context, port string, ask bool, trying func(devices.Trial)) (devices.Found, error)
	// WhichSends returns the first of several ports that sends anything, "" when none has before the time is over.
	WhichSends(ctx context.Context, ports []string, line decode.Line, listen time.Duration) (string, error)
}

// search is an identification that runs, or has run, in the background. One runs at a time.
type search struct {
	mu      sync.Mutex
	cancel  context.CancelFunc // nil when none runs
	port    string
	began   time.Time
	trial   devices.Trial
	found   *devices.Found // nil until it is done
	problem string
}

// identifyPage shows a search: its progress, then what fits.
type identifyPage struct {
	Port     string
	Words    string // the port in words
	Running  bool
	Progress string
	Percent  int
	Sentence string
	Fits     []fitLine
	Heard    int
	Last     string
	Gauge    *batch.Gauge // whose entry is to be changed, nil for a new one
}

// fitLine is one candidate with its evidence.
type fitLine struct {
	devices.Fit
	Place int
	Use   string // path of the form that it fills in
}

// portLine is one port in the list of the page Gauges.
type portLine struct {
	devices.PortInfo
	Gauges []string // bound to it
	Alike  bool     // another port has the same identity
	Free   bool     // no gauge has it open: it can be listened to
}

// portLines lists the ports that can be seen with the gauges bound to them.
func (s *server) portLines(gauges []batch.Gauge) []portLine {
	ports := s.seen()
	lines := make([]portLine, len(ports))
	for i, p := range ports {
		lines[i] = portLine{PortInfo: p, Gauges: binding.Gauges(p, ports, gauges), Alike: len(devices.Alikes(ports, p.Identity)) > 1}
		lines[i].Free = s.opt.Lines != nil && !slices.ContainsFunc(lines[i].Gauges, func(name string) bool { return !strings.HasSuffix(name, "(?)") })
	}
	return lines
}

// portForm names a port to listen to.
func portForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "port", Label: "A port that is not listed", Kind: "text", Allowed: "its name, e.g. /dev/ttyS0 or COM3", Needed: true},
	}}}}
}

// startIdentify begins to listen to a port and goes to the page that shows how far it is.
func (s *server) startIdentify(c *site.Request) error {
	f := portForm()
	f.Fill(c)
	name := f.Text("port", 250)
	if s.opt.Lines == nil {
		return batch.Conflict.Errorf("This station cannot listen to ports.")
	}
	if !f.Ok() {
		return s.showGauges(c, c.Refused(f), f)
	}
	ctx, cancel := context.WithCancel(context.WithoutCancel(c.Request.Context()))
	q := &s.search
	q.mu.Lock()
	if q.cancel != nil {
		running := q.port
		q.mu.Unlock()
		cancel()
		f.Field("port").Fail("The gauge on %s is being identified. Wait until that is done, or stop it.", running)
		return s.showGauges(c, http.StatusConflict, f)
	}
	q.cancel, q.port, q.began, q.trial, q.found, q.problem = cancel, name, s.opt.Now(), devices.Trial{}, nil, ""
	q.mu.Unlock()
	ask := c.PostForm("ask") != ""
	go func() {
		defer cancel()
		found, err := s.opt.Lines.Identify(ctx, name, ask, func(t devices.Trial) {
			q.mu.Lock()
			defer q.mu.Unlock()
			q.trial = t
		})
		q.mu.Lock()
		defer q.mu.Unlock()
		q.cancel, q.found = nil, &found
		if err != nil {
			q.problem = tell.Sentence(err)
		}
	}()
	return c.To("/gauges/identify")
}

// stopIdentify ends the search; what fitted so far stays.
func (s *server) stopIdentify(c *site.Request) error {
	s.search.mu.Lock()
	if s.search.cancel != nil {
		s.search.cancel()
	}
	s.search.mu.Unlock()
	return c.To("/gauges/identify")
}

// identify shows the search.
func (s *server) identify(c *site.Request) error {
	q := &s.search
	q.mu.Lock()
	p := identifyPage{Port: q.port, Running: q.cancel != nil, Heard: q.trial.Heard}
	trial, found, problem := q.trial, q.found, q.problem
	q.mu.Unlock()
	p.Words = p.Port
	for _, port := range s.seen() {
		if port.Name == p.Port {
			p.Words = portWords(port)
		}
	}
	switch {
	case p.Port == "":
		p.Sentence = "Nothing is being identified. Choose a port on the page Gauges."
	case p.Running:
		c.Header("Refresh", "1")
		p.Sentence = "Press the gauge's data key every second or so until this is done."
		p.Progress = fmt.Sprintf("Setting %d: %s. %s so far, %s.", max(1, trial.Number), trial.Line.Words(), tell.Counted(trial.Heard, "byte", "bytes"), tell.Counted(trial.Fitting, "decoder fits", "decoders fit"))
		if trial.Of > 0 {
			p.Percent = 100 * (trial.Number - 1) / trial.Of
		}
	case problem != "":
		p.Sentence = problem
	case found == nil || found.Heard == 0:
		p.Sentence = "Nothing came from the port. Press the gauge's data key while it is listened to; a gauge that answers only when asked needs the tick."
	case found.TooLittle != nil:
		p.Heard, p.Last = found.Heard, tell.Printable(found.Last)
		p.Sentence = fmt.Sprintf("%s, too little to tell: no more than one frame at a setting, and nothing says whether it was whole. Identify it again and press the data key every second or so.", tell.Counted(found.Heard, "byte came", "bytes came"))
	case len(found.Fits) == 0:
		p.Heard, p.Last = found.Heard, tell.Printable(found.Last)
		p.Sentence = fmt.Sprintf("%s, and no built-in decoder reads what came at any usual setting. Describe the gauge's frames in a decoder of its own.", tell.Counted(found.Heard, "byte came", "bytes came"))
	default:
		p.Heard = found.Heard
		best := show.Pick(len(found.Fits) == 1, "", "; the first fits best")
		if n := found.Tied(); n > 1 {
			best = fmt.Sprintf("; the first %d fit equally well: compare what they read with the gauge's display", n)
		}
		p.Sentence = fmt.Sprintf("%s what came%s.", tell.Counted(len(found.Fits), "decoder reads", "decoders read"), best)
		for i, f := range found.Fits {
			p.Fits = append(p.Fits, fitLine{Fit: f, Place: i + 1, Use: "/gauges/new?fit=" + strconv.Itoa(i+1)})
		}
	}
	return c.Show(http.StatusOK, "identify", "Identify a gauge", p)
}

// fittedGauge is the entry that a fit of the newest search fills in; nil where the request names none.
func (s *server) fittedGauge(c *site.Request) *batch.Gauge {
	n, err := strconv.Atoi(c.Query("fit"))
	if err != nil {
		return nil
	}
	s.search.mu.Lock()
	found, name := s.search.found, s.search.port
	s.search.mu.Unlock()
	if found == nil || n < 1 || n > len(found.Fits) {
		return nil
	}
	ports := s.seen()
	port := devices.PortInfo{Name: name}
	for _, p := range ports {
		if p.Name == name {
			port = p
		}
	}
	g, err := binding.Entry(port, ports, found.Fits[n-1])
	if err != nil {
		return nil
	}
	return &g
}
