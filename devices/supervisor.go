package devices

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
)

// Options are what a Supervisor works with; every field may be left out.
//
// The callbacks are called on the goroutine that reads the port, one at a time for one port, at the same time for
// different ports. OnReading may take as long as a commit takes: meanwhile the system holds what the gauge sends
// (about 4000 bytes), and nothing is lost. It must not wait for anything that itself waits for this port. When
// OnReading returns, the reading is the consumer's. What Typed takes is reported on its caller's goroutine.
type Options struct {
	Open      Opener           // serial.Open unless given
	List      Lister           // ListPorts unless given
	Now       func() time.Time // time.Now unless given; set back, it counts on from where it was
	OnReading func(Reading)    // every decoded frame
	OnHealth  func(Health)     // every change of a gauge's state, once
	OnFault   func(Fault)      // every stretch of bytes that gave no reading
	// OnBytes gets everything that a port received, before it is decoded. gauge is the first of those behind the port; b is
	// valid during the call.
	OnBytes      func(gauge string, at time.Time, b []byte)
	OnFootPress  func(FootPress)                          // every press of a foot switch
	OnUnanswered func(gauge string, waited time.Duration) // every Ask that brought neither a reading nor a fault

	BackoffMin time.Duration // first wait before looking for a lost port again; 250 ms unless given
	BackoffMax time.Duration // longest such wait; 2 s unless given
}

// Supervisor keeps every gauge's port open, reads it, and finds it again when it was unplugged.
type Supervisor struct {
	opt    Options
	links  []*link
	gauges []*watch // in the order given

	typing sync.Mutex   // one burst at a time
	light  atomic.Int32 // a Light: what lamps show

	listing sync.Mutex
	listed  time.Time
	ports   []PortInfo
}

// New checks the gauges and prepares to watch them; Run does it. The error lists everything that is wrong with
// them.
func New(gauges []Gauge, opt Options) (*Supervisor, error) {
	if opt.Open == nil {
		opt.Open = serial.Open
	}
	if opt.List == nil {
		opt.List = ListPorts
	}
	if opt.Now == nil {
		opt.Now = time.Now
	}
	opt.Now = onward(opt.Now)
	if opt.OnReading == nil {
		opt.OnReading = func(Reading) {}
	}
	if opt.OnHealth == nil {
		opt.OnHealth = func(Health) {}
	}
	if opt.OnFault == nil {
		opt.OnFault = func(Fault) {}
	}
	if opt.OnFootPress == nil {
		opt.OnFootPress = func(FootPress) {}
	}
	if opt.OnUnanswered == nil {
		opt.OnUnanswered = func(string, time.Duration) {}
	}
	if opt.OnBytes == nil {
		opt.OnBytes = func(string, time.Time, []byte) {}
	}
	if opt.BackoffMin <= 0 {
		opt.BackoffMin = 250 * time.Millisecond
	}
	if opt.BackoffMax < opt.BackoffMin {
		opt.BackoffMax = max(2*time.Second, opt.BackoffMin)
	}
	s := &Supervisor{opt: opt}
	var wrong []error
	for _, g := range gauges {
		if err := s.add(g); err != nil {
			wrong = append(wrong, fmt.Errorf("gauge %q: %w", g.ID, err))
		}
	}
	if len(wrong) > 0 {
		return nil, errors.Join(wrong...)
	}
	return s, nil
}

// add puts a gauge to the port it shares with others, or to one of its own; one that types has none.
func (s *Supervisor) add(g Gauge) error {
	if g.noGauge() && g.Decoder == nil {
		g.Decoder = decode.Builtin()[0] // for the line that its port is opened with
	}
	switch {
	case g.ID == "":
		return errors.New("has no ID; give every gauge one of its own")
	case s.watch(g.ID) != nil:
		return errors.New("the ID is used twice; give every gauge one of its own")
	case g.Decoder == nil:
		return errors.New("has no decoder; choose one")
	case g.Capture != CaptureTyped && g.Identity.IsZero() && g.Path == "":
		return errors.New("has neither a USB identity nor a path; pick its port")
	}
	if err := s.checkCapture(g); err != nil {
		return err
	}
	g.Identity = g.Identity.folded()
	w := &watch{gauge: g, health: Health{Gauge: g.ID, State: StateMissing, Since: s.opt.Now(), Words: "Not looked for yet."}}
	if g.Capture == CaptureSettled {
		w.rest = newRest(g.ResolutionMM, g.Sense)
	}
	s.gauges = append(s.gauges, w)
	if g.Capture == CaptureTyped {
		return nil
	}
	for _, l := range s.links {
		first := l.gauges[0].gauge
		if first.Identity != g.Identity || first.Socket != g.Socket || g.Identity.IsZero() && first.Path != g.Path {
			continue
		}
		if first.Capture == CaptureFoot || g.Capture == CaptureFoot {
			return fmt.Errorf("shares its port with %q, and one of them is a foot switch on a port of its own; enter its line at the gauge instead", first.ID)
		}
		if first.Capture == CaptureLamp || g.Capture == CaptureLamp {
			return fmt.Errorf("shares its port with %q, and one of them is a lamp, which has its port for itself", first.ID)
		}
		if first.Decoder.ID() != g.Decoder.ID() {
			return fmt.Errorf("shares its port with gauge %q but not its decoder (%s, %s); one port has one decoder",
				first.ID, first.Decoder.ID(), g.Decoder.ID())
		}
		l.gauges = append(l.gauges, w)
		l.wire(g)
		return nil
	}
	l := &link{s: s, decoder: g.Decoder, identity: g.Identity, socket: g.Socket, path: g.Path, gauges: []*watch{w}}
	l.wire(g)
	for _, other := range s.links {
		l.rival(other)
		other.rival(l)
		if !l.identity.IsZero() && other.identity == l.identity { // told apart by their sockets
			l.others, other.others = append(l.others, other.socket), append(other.others, l.socket)
		}
	}
	s.links = append(s.links, l)
	return nil
}

// checkCapture says what is wrong with how a gauge's readings are to be taken.
func (s *Supervisor) checkCapture(g Gauge) error {
	switch {
	case !slices.Contains(captures, g.Capture):
		return fmt.Errorf("capture is %q; allowed: %q", g.Capture, captures)
	case g.Capture == CaptureSettled && !(g.ResolutionMM > 0):
		return fmt.Errorf("capture is %q, but its resolution is %g mm; rest is judged by it, so give the step of its last digit", g.Capture, g.ResolutionMM)
	case g.Capture == CaptureRequest && g.Decoder.Request.Bytes == nil:
		return fmt.Errorf("capture is %q, but its decoder %q sends no request; choose one with a table [request]", g.Capture, g.Decoder.Name)
	case g.Capture == CaptureFoot && g.FootSwitch == "":
		return fmt.Errorf("is a foot switch on no line; allowed: %q, %q", LineCTS, LineDSR)
	case g.Capture == CaptureLamp && g.FootSwitch != "":
		return errors.New("is a lamp, whose lines a foot switch may draw its current from; give the foot switch to another port")
	case g.FootSwitch != "" && g.FootSwitch != LineCTS && g.FootSwitch != LineDSR:
		return fmt.Errorf("foot switch is %q; allowed: %q, %q", g.FootSwitch, LineCTS, LineDSR)
	case g.Capture != CaptureTyped:
		return nil
	case g.FootSwitch != "":
		return errors.New("types like a keyboard and has no port that a foot switch could be wired to; give the foot switch to another gauge's port")
	case g.Decoder.Family != "text":
		return fmt.Errorf("types like a keyboard, but its decoder is of the family %q; choose one of the family \"text\"", g.Decoder.Family)
	}
	for _, w := range s.gauges {
		other := w.gauge
		if other.Capture == CaptureTyped && (strings.HasPrefix(other.Prefix, g.Prefix) || strings.HasPrefix(g.Prefix, other.Prefix)) {
			return fmt.Errorf("types like a keyboard as gauge %q does, with the prefixes %q and %q; give each a prefix that does not begin the other", other.ID, g.Prefix, other.Prefix)
		}
	}
	return nil
}

func (s *Supervisor) watch(id string) *watch {
	for _, w := range s.gauges {
		if w.gauge.ID == id {
			return w
		}
	}
	return nil
}

// Run watches the gauges until the context is done, then closes every port and returns. It is called once.
func (s *Supervisor) Run(ctx context.Context) {
	for _, w := range s.gauges {
		if w.gauge.Capture == CaptureTyped {
			w.open(s.opt.Now(), "", false, s.opt.OnHealth)
		}
	}
	var all sync.WaitGroup
	for _, l := range s.links {
		all.Go(func() { l.run(ctx) })
	}
	all.Wait()
}

// plugged lists the ports, at most once in the shortest backoff however many gauges ask, unless anew.
func (s *Supervisor) plugged(anew bool) ([]PortInfo, error) {
	s.listing.Lock()
	defer s.listing.Unlock()
	if now := s.opt.Now(); anew || s.listed.IsZero() || now.Sub(s.listed) >= s.opt.BackoffMin/2 {
		ports, err := s.opt.List()
		if err != nil {
			return nil, err
		}
		s.ports, s.listed = ports, now
	}
	return s.ports, nil
}
