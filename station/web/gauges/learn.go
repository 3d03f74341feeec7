package gauges

import (
	"context"
	"encoding/hex"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"sagitta/batch"
	"sagitta/devices"
	"sagitta/devices/decode"
	"sagitta/devices/decode/infer"
	"sagitta/station/binding"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// Lines listens to ports that no gauge's line has open.
type Lines interface {
	// Learn listens to an unknown gauge until ctx ends, and tells what came.
	Learn(ctx context.Context, port string, ask bool, told func(devices.Lesson)) error
	// WhichSends returns the first of several ports that sends anything, "" when none has before the time is over.
	WhichSends(ctx context.Context, ports []string, line decode.Line, listen time.Duration) (string, error)
}

// search is an unknown gauge that is listened to, or was. One at a time; it goes on, so that what was made of the bytes is tried live,
// until somebody ends it or nobody looks any more.
type search struct {
	changing sync.Mutex // one beginning at a time

	mu     sync.Mutex
	cancel context.CancelFunc // nil when nobody listens
	ended  chan struct{}      // closed when the port is free again
	state  searched
	looked time.Time // when the page was last looked at
}

// searched is what a search has found so far.
type searched struct {
	Port    string
	Typed   bool // nobody listened: its keys were typed into the page
	Asking  bool // requests are sent
	Began   time.Time
	Lesson  devices.Lesson
	Error   error
	Choice  infer.Choice
	Pick    int // of the guess's candidates, from 0
	Serving bool
}

const (
	// unlooked is how long a search goes on that nobody looks at.
	unlooked = time.Minute
	// left is how soon another may begin in its place: the page asks every second.
	left = 5 * time.Second
)

// guess is what can be made of what was heard.
func (s *searched) guess() infer.Guess { return infer.Infer(s.Lesson.Heard, s.Choice) }

// picked is the candidate that is shown first; ok is false where there is none.
func (s *searched) picked(g infer.Guess) (c infer.Candidate, ok bool) {
	if len(g.Candidates) == 0 {
		return c, false
	}
	return g.Candidates[min(s.Pick, len(g.Candidates)-1)], true
}

// now is the search of now; it notes that somebody looks.
func (q *search) now(at time.Time) searched {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.looked = at
	s := q.state
	s.Serving = q.cancel != nil
	return s
}

// change changes what a person says of the bytes.
func (q *search) change(how func(s *searched)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	how(&q.state)
}

// end ends the search, and waits until its port is free.
func (q *search) end() {
	q.mu.Lock()
	cancel, ended := q.cancel, q.ended
	q.mu.Unlock()
	if cancel != nil {
		cancel()
		<-ended
	}
}

// portForm names a port to listen to.
func portForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "port", Label: "A port that is not listed", Kind: "text", Allowed: "its name or path, e.g. /dev/ttyS0 or COM3", Needed: true},
	}}}}
}

// startIdentify begins to listen to a port and goes to the page that shows what comes.
func (s *server) startIdentify(c *site.Request) error {
	f := portForm()
	f.Fill(c)
	name := f.Text("port", 250)
	if s.opt.Lines == nil {
		return batch.Conflict.Errorf("This station cannot listen to ports.")
	}
	if !f.Ok() {
		return s.showNew(c, c.Refused(f), f)
	}
	q := &s.search
	q.changing.Lock()
	defer q.changing.Unlock()
	q.mu.Lock()
	running, looked := q.cancel != nil, q.looked
	port := q.state.Port
	q.mu.Unlock()
	if running && port != name && s.opt.Now().Sub(looked) < left {
		f.Field("port").Fail("The gauge on %s is being identified. Wait until that is done, or stop it.", port)
		return s.showNew(c, http.StatusConflict, f)
	}
	q.end()
	s.listen(name, c.PostForm("ask") != "")
	return c.To("/gauges/identify")
}

// listen listens in the background, as long as somebody looks.
func (s *server) listen(port string, ask bool) {
	ctx, cancel := context.WithCancel(context.Background())
	q := &s.search
	ended := make(chan struct{})
	q.mu.Lock()
	q.cancel, q.ended, q.looked = cancel, ended, s.opt.Now()
	q.state = searched{Port: port, Asking: ask, Began: s.opt.Now()}
	q.mu.Unlock()
	go func() {
		defer close(ended)
		err := s.opt.Lines.Learn(ctx, port, ask, func(l devices.Lesson) {
			q.change(func(s *searched) { s.Lesson = l })
		})
		q.mu.Lock()
		defer q.mu.Unlock()
		q.state.Error, q.cancel = err, nil
	}()
	go func() {
		for every := time.NewTicker(left); ; {
			select {
			case <-ended:
				every.Stop()
				return
			case <-every.C:
			}
			q.mu.Lock()
			stale := s.opt.Now().Sub(q.looked) > unlooked
			q.mu.Unlock()
			if stale {
				cancel()
			}
		}
	}()
}

// stopIdentify ends the search; what came so far stays.
func (s *server) stopIdentify(c *site.Request) error {
	s.search.end()
	return c.To("/gauges/identify")
}

// typedLine stands for the line of a gauge that types: it has none, but a decoder's file needs one.
var typedLine = decode.Line{Baud: 9600, DataBits: 8, Parity: "none", StopBits: 1}

const (
	mostTyped    = 20  // lines are taken of what was typed
	longestLine  = 100 // bytes of a line that a gauge types
	longestFrame = 256 // bytes that a person says one by one what they are
)

// identifyTyped takes what a gauge that is a keyboard has typed into the page.
func (s *server) identifyTyped(c *site.Request) error {
	s.search.changing.Lock()
	defer s.search.changing.Unlock()
	s.search.end()
	state := searched{Typed: true, Began: s.opt.Now(), Lesson: devices.Lesson{Heard: infer.Heard{Line: typedLine}, Settled: true}}
	for _, line := range strings.FieldsFunc(c.PostForm("typed"), func(r rune) bool { return r == '\n' || r == '\r' }) {
		if len(state.Lesson.Chunks) == mostTyped {
			break
		}
		line = strings.TrimRight(line, "\t")
		if len(line) > longestLine {
			return batch.Mendable.Errorf("A line of %d bytes was typed; a gauge's has at most %d. Press its key alone, with an end of line behind each press.", len(line), longestLine)
		}
		at := time.Duration(len(state.Lesson.Chunks)+1) * time.Second
		state.Lesson.Chunks = append(state.Lesson.Chunks, decode.Chunk{At: at, Bytes: append([]byte(line), '\r')})
		state.Lesson.Bytes += len(line) + 1
	}
	s.search.change(func(now *searched) { *now = state })
	return c.To("/gauges/identify")
}

// chooseIdentify takes what a person says of the bytes.
func (s *server) chooseIdentify(c *site.Request) error {
	choice := infer.Choice{}
	if unit := c.PostForm("unit"); slices.Contains(infer.Units, unit) {
		choice.Unit = unit
	}
	if n, err := strconv.Atoi(c.PostForm("places")); err == nil && n >= 0 && n <= 9 {
		choice.Places = &n
	}
	if frame, err := hex.DecodeString(c.PostForm("frame")); err == nil && len(frame) > 0 && len(frame) <= longestFrame {
		if roles := c.PostFormArray("role"); len(roles) == len(frame) {
			choice.Frame = frame
			for _, r := range roles {
				choice.Roles = append(choice.Roles, decode.Role(r))
			}
		}
	}
	pick, _ := strconv.Atoi(c.PostForm("pick"))
	if c.PostForm("anew") != "" {
		choice, pick = infer.Choice{}, 0
	}
	s.search.change(func(now *searched) {
		if c.PostForm("pick") == "" || c.PostForm("anew") != "" {
			now.Choice = keepRoles(choice, now)
		}
		now.Pick = max(0, pick)
	})
	return c.To("/gauges/identify")
}

// keepRoles leaves the bytes to themselves where the roles that were sent are those that they had: only what a person changed is a choice.
func keepRoles(choice infer.Choice, now *searched) infer.Choice {
	g := infer.Infer(now.Lesson.Heard, infer.Choice{})
	if c, ok := now.picked(g); ok && choice.Roles != nil && slices.Equal(choice.Roles, rolesOf(c.Decoder, choice.Frame)) {
		choice.Roles, choice.Frame = nil, nil
	}
	return choice
}

// rolesOf are the roles of a frame's bytes.
func rolesOf(d *decode.Decoder, raw []byte) []decode.Role {
	roles := make([]decode.Role, 0, len(raw))
	for _, p := range d.Parts(raw) {
		roles = append(roles, slices.Repeat([]decode.Role{p.Role}, p.To-p.From)...)
	}
	return roles
}

// learntEntry is what was learnt of a gauge: an entry to begin with, and what its decoder reads.
type learntEntry struct {
	entry  batch.Gauge
	Words  string // what decoder it is
	Reads  []readLine
	Doubts []string // that may make a value wrong
}

// learntGauge is what the newest search has learnt; nil where the request does not ask for it or nothing was made of what came.
func (s *server) learntGauge(c *site.Request) *learntEntry {
	if c.Query("learnt") == "" && c.PostForm("learnt") == "" {
		return nil
	}
	state := s.search.now(s.opt.Now())
	g := state.guess()
	candidate, ok := state.picked(g)
	if !ok {
		return nil
	}
	ports := s.seen()
	port := devices.PortInfo{Name: state.Port}
	for _, p := range ports {
		if p.Name == state.Port {
			port = p
		}
	}
	entry, err := binding.Entry(port, ports, state.Lesson.Heard, g, candidate, "lines as heard on "+s.opt.Now().Local().Format("2006-01-02 15:04"))
	if err != nil {
		return nil
	}
	if state.Typed {
		entry.Capture, entry.Path = devices.CaptureTyped, ""
	}
	e := &learntEntry{entry: entry, Reads: readLines(candidate, c.Unit()), Words: candidateWords(candidate)}
	for _, d := range candidate.Doubts {
		if d.Wrong() {
			e.Doubts = append(e.Doubts, d.Sentence())
		}
	}
	return e
}

// fill takes what was learnt over into an entry.
func (e *learntEntry) fill(g *batch.Gauge) {
	l := e.entry
	g.USBVendor, g.USBProduct, g.USBSerial, g.USBSocket, g.Path = l.USBVendor, l.USBProduct, l.USBSerial, l.USBSocket, l.Path
	g.Decoder, g.Capture = l.Decoder, l.Capture
	if l.ResolutionMM > 0 {
		g.ResolutionMM = l.ResolutionMM
	}
}

// ask folds away what was learnt and asks, where the bytes leave open what a value is, whether it was compared.
func (e *learntEntry) ask(f *form.Form) {
	if e == nil {
		return
	}
	for i := range f.Groups {
		f.Groups[i].Folded = f.Groups[i].Folded || f.Groups[i].Title == foundAndRead
	}
	if len(e.Doubts) == 0 {
		return
	}
	tick := form.Field{Name: "compared", Label: "What is read above", Kind: "check", Allowed: "the bytes leave it open", Options: []form.Option{{Value: "yes", Label: "is what the gauge's display showed at these presses"}}}
	f.Groups = append([]form.Group{{Fields: []form.Field{tick}}}, f.Groups...)
}

// compared complains where it was asked and not ticked.
func (e *learntEntry) compared(f *form.Form) {
	if fd := f.Field("compared"); e != nil && len(e.Doubts) > 0 && len(fd.Chosen()) == 0 {
		fd.Fail("The values above were not compared with the gauge's display. A decoder that reads them wrong would judge every neck wrong: compare, then tick this.")
	}
}
