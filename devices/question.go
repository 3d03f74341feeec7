package devices

import (
	"errors"
	"fmt"
)

// question is one request by Ask. It ends with the gauge's next frame, a refused stretch, or the decoder's time-out.
type question struct {
	gauge *watch
	sent  bool
}

// Ask has a gauge sent its decoder's request, and returns at once, so that it may be called from within a callback. The
// answer comes as a Reading with Key set or as a Fault; where neither comes within the decoder's time-out, or the port
// is lost meanwhile, OnUnanswered says so. The error is Unplugged, an *Error, when the port is not open; a plain one
// when the gauge is not asked (its Capture is another) or has a request under way.
func (s *Supervisor) Ask(gauge string) error {
	for _, l := range s.links {
		for _, w := range l.gauges {
			if w.gauge.ID == gauge && w.gauge.Capture == CaptureRequest {
				return l.asks(w)
			}
		}
	}
	return fmt.Errorf("no gauge %q that sends when asked", gauge)
}

func (l *link) asks(w *watch) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case !l.open:
		return &Error{Kind: Unplugged, Port: l.where(), Err: errors.New("not open")}
	case l.question != nil:
		return fmt.Errorf("port %s: a request is under way; wait for its answer", l.where())
	}
	l.question = &question{gauge: w}
	return nil
}

// opened begins a session for Ask.
func (l *link) opened() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.open = true
}

// closed ends it; what was asked stays unanswered.
func (l *link) closed() {
	l.mu.Lock()
	l.open = false
	if l.question != nil {
		l.question.sent = true
	}
	l.mu.Unlock()
	l.unanswered()
}

// sending tells whether Ask's request is to be sent now.
func (l *link) sending() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.question == nil || l.question.sent {
		return false
	}
	l.question.sent = true
	return true
}

// answer tells whether a gauge's frame answers a question, and ends that question. No gauge is a refused stretch: it
// ends the question whoever was asked.
func (l *link) answer(w *watch) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if q := l.question; q == nil || !q.sent || w != nil && q.gauge != w {
		return false
	}
	l.question = nil
	return true
}

// unanswered ends a question that was sent and that nobody answered.
func (l *link) unanswered() {
	l.mu.Lock()
	q := l.question
	if q != nil && q.sent {
		l.question = nil
	}
	l.mu.Unlock()
	if q != nil && q.sent {
		l.s.opt.OnUnanswered(q.gauge.gauge.ID, l.decoder.Request.Timeout)
	}
}

// onDemand tells whether nobody behind this port wants to be asked unless somebody presses.
func (l *link) onDemand() bool {
	for _, w := range l.gauges {
		if w.gauge.Capture != CaptureRequest {
			return false
		}
	}
	return true
}
