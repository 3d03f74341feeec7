package devices

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"time"

	"sagitta/devices/decode"
)

// standstill is how long a freshly opened port must be quiet before what comes next counts as a frame's beginning.
// A frame interrupted for that long is cut by definition, so none can be under way. Without this the first press
// of a gauge that speaks only when pressed would always be thrown away.
const standstill = 200 * time.Millisecond

// link is one port and the gauges behind it. Its goroutine alone reads, writes and closes the port.
type link struct {
	s        *Supervisor
	decoder  *decode.Decoder
	identity Identity
	socket   string
	others   []string   // sockets of gauges with the same identity
	rivals   []Identity // of gauges with an alike adapter that has a serial number, where this one has none
	path     string
	gauges   []*watch
	switches []*footSwitch
	proven   atomic.Bool // the open port was quiet long enough to stand between frames

	mu       sync.Mutex
	open     bool      // a session is in progress
	question *question // what Ask wants to know; nil when nothing
}

// where names the port for messages before it is found.
func (l *link) where() string {
	if l.identity.IsZero() {
		return l.path
	}
	return l.identity.String()
}

// rival notes a gauge whose adapter could be taken for this one's, were its serial number not known.
func (l *link) rival(other *link) {
	a, b := l.identity, other.identity
	if a.Vendor == b.Vendor && a.Product == b.Product && a.Vendor != "" && a.Serial == "" && b.Serial != "" {
		l.rivals = append(l.rivals, b)
	}
}

// locate finds the port's name of today; anew lists the ports whenever they were listed last.
func (l *link) locate(anew bool) (string, error) {
	if l.identity.IsZero() {
		return l.path, nil
	}
	ports, err := l.s.plugged(anew)
	if err != nil {
		return "", err
	}
	return find(ports, l.identity, l.socket, l.others, l.rivals)
}

// run opens, reads and finds again until the context is done.
func (l *link) run(ctx context.Context) {
	wait := l.s.opt.BackoffMin
	sessions := 0
	for ctx.Err() == nil {
		port, err := l.openOwn()
		if err == nil {
			began := l.s.opt.Now()
			var heard bool
			heard, err = l.session(ctx, port, sessions > 0)
			sessions++
			if closing := port.Close(); err == nil {
				err = closing
			}
			if heard || l.s.opt.Now().Sub(began) > l.s.opt.BackoffMax { // not a port that fails as soon as it is open
				wait = l.s.opt.BackoffMin
			}
		}
		if ctx.Err() != nil {
			return
		}
		for _, w := range l.gauges {
			w.down(l.s.opt.Now(), err, sessions > 0, l.s.opt.OnHealth)
		}
		select {
		case <-ctx.Done():
		case <-time.After(wait):
		}
		wait = min(2*wait, l.s.opt.BackoffMax)
	}
}

// openOwn opens the port that bears the gauge's identity. Between looking for it and opening it adapters may have changed
// places under one name: once it is open, and so cannot become another's, it is looked for again.
func (l *link) openOwn() (*Port, error) {
	name, err := l.locate(false)
	if err != nil {
		return nil, err
	}
	port, err := openPort(l.s.opt.Open, name, l.decoder.Line)
	if err != nil || l.identity.IsZero() {
		return port, err
	}
	again, err := l.locate(true)
	if err == nil && again != name {
		err = &Error{Kind: Missing, Port: l.identity.String()}
	}
	if err != nil {
		return nil, errors.Join(err, port.Close())
	}
	return port, nil
}

// session reads one opened port until it fails (the error says how) or the context is done (nil). again tells that
// it was open before, heard whether it sent anything this time.
func (l *link) session(ctx context.Context, port *Port, again bool) (heard bool, err error) {
	l.opened()
	defer l.closed()
	l.proven.Store(false)
	s := session{link: l, port: port, began: l.s.opt.Now(), stream: l.decoder.Stream(false)}
	s.read = s.began
	for _, w := range l.gauges {
		w.open(s.began, port.Name(), again, l.s.opt.OnHealth)
	}
	wait := readWait
	if l.decoder.Request.Bytes != nil || len(l.switches) > 0 { // so that requests leave, and presses are seen, on time
		wait = readWait / 5
		if err := port.wait(wait); err != nil {
			return false, err
		}
	}
	defer func() {
		if err != nil { // whichever of reading and writing has noticed it
			s.deliver(s.stream.End(s.last)) // the last byte's time: being unplugged is no pause that ends a frame
		}
	}()
	buf := make([]byte, 1024)
	for ctx.Err() == nil {
		if err := s.ask(); err != nil {
			return s.heard, err
		}
		before := l.s.opt.Now()
		n, err := port.Read(buf)
		now := l.s.opt.Now()
		s.waited += min(now.Sub(before), wait) // a longer stay was the program's, not the gauge's
		s.read = now
		at := s.waited
		switch {
		case n > 0:
			s.heard, s.last, s.byteAt = true, at, now
			l.s.opt.OnBytes(l.gauges[0].gauge.ID, now, buf[:n])
			s.deliver(s.stream.Feed(at, buf[:n]))
		case err == nil:
			if !s.heard && !l.proven.Load() && at >= standstill {
				s.stream = l.decoder.Stream(true)
				l.proven.Store(true)
			}
			s.deliver(s.stream.Idle(at))
		}
		s.silence(now)
		s.look(now)
		s.shine(now)
		if err != nil {
			return s.heard, err
		}
	}
	return s.heard, nil
}

// session is one opening of a link's port. Its stream's clock runs only while it waits in Read: bytes that lay ready
// while a reading was being handed on came after no silence, however long that took.
type session struct {
	*link
	port   *Port
	began  time.Time
	waited time.Duration // spent in Read: the stream's clock
	read   time.Time     // when the last Read returned: waited on the stream's clock
	stream *decode.Stream
	heard  bool          // a byte has come
	last   time.Duration // when the last one came

	asked    time.Time // when the last request went out; zero before the first
	answered bool      // a frame came since
	why      bool      // the last request asked why there was no answer
	byteAt   time.Time // when a byte came last

	looked time.Time // when the foot switches were last looked at
	shown  Light     // what the lamp was last told to show
	lit    time.Time // when it was; zero before the first
	blind  bool      // at the last look the port did not say how its modem lines stand
}

// ask sends the decoder's request when Ask wants it or it is due.
func (s *session) ask() error {
	r := s.decoder.Request
	if r.Bytes == nil {
		return nil
	}
	if s.sending() {
		if err := s.write(r.Bytes); err != nil {
			s.unanswered()
			if fatal(err) {
				return err
			}
		}
		return nil
	}
	if r.Every == 0 || s.onDemand() {
		return nil
	}
	waited := s.s.opt.Now().Sub(s.asked)
	if !s.asked.IsZero() && (waited < r.Every || !s.answered && waited < r.Timeout) {
		return nil
	}
	if s.why = r.Why != nil && !s.asked.IsZero() && !s.answered && !s.why; s.why {
		return s.write(r.Why)
	}
	return s.write(r.Bytes)
}

// write sends a request once the line has been quiet for as long as the gauge wants.
func (s *session) write(b []byte) error {
	if quiet := s.decoder.Request.Quiet - s.s.opt.Now().Sub(s.byteAt); quiet > 0 {
		time.Sleep(min(quiet, s.decoder.Request.Quiet)) // no longer, whatever the clock does
	}
	if _, err := s.port.Write(b); err != nil {
		return err
	}
	s.asked, s.answered = s.s.opt.Now(), false
	return nil
}

// fatal tells whether the port must be opened anew. A gauge that does not take what is sent may still be heard.
func fatal(err error) bool {
	var e *Error
	return err != nil && !(errors.As(err, &e) && e.Kind == Stuck)
}

// deliver hands every event to the gauges it concerns.
func (s *session) deliver(events []decode.Event) {
	for _, e := range events {
		at := s.read.Add(e.At - s.waited) // not from began: the time of day may have been set since
		s.answered = true
		if e.Value == nil {
			s.answer(nil)
		}
		for _, w := range s.gauges {
			if w.gauge.noGauge() { // bytes are none of its business
				continue
			}
			if e.Value == nil {
				w.fault(at, e, s.s.opt)
			} else if w.gauge.takes(*e.Value) {
				w.reading(at, e, s.answer(w) || w.settled(at, *e.Value), s.s.opt)
			}
		}
	}
}

// silence looks whether a gauge that should be heard is not.
func (s *session) silence(now time.Time) {
	r := s.decoder.Request
	unanswered := r.Bytes != nil && !s.asked.IsZero() && !s.answered && now.Sub(s.asked) >= r.Timeout
	if unanswered {
		s.unanswered()
	}
	for _, w := range s.gauges {
		if unanswered {
			since := w.lastHeard()
			if s.onDemand() { // nobody knows what it did before it was asked
				since = s.asked
			}
			w.silent(now, since, "Asked for a reading, the gauge did not answer within "+r.Timeout.String()+".", s.s.opt.OnHealth)
		} else if g := w.gauge; g.streams() && g.SilentAfter > 0 && now.Sub(w.lastHeard()) >= g.SilentAfter {
			w.silent(now, w.lastHeard(), "The gauge has sent nothing for "+g.SilentAfter.String()+".", s.s.opt.OnHealth)
		}
	}
}
