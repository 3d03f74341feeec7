package devices

import (
	"errors"
	"strings"
	"sync"
	"time"

	"sagitta/devices/decode"
)

// offAndOn is the shortest silence in which somebody may have switched a gauge off and on again: this program's choice.
const offAndOn = 2 * time.Second

// watch is what is known of one gauge. Its link's goroutine writes it, anyone may ask.
type watch struct {
	gauge Gauge

	mu       sync.Mutex
	health   Health
	reported bool      // the state has been reported once
	heard    time.Time // the last frame or refused stretch, or the opening
	quiet    time.Time // since when it is silent though it should be heard; zero while it is heard

	rest  *rest // of a gauge whose readings are taken at rest; its link's goroutine alone uses it
	typed int64 // bytes that a gauge which types has typed, under Supervisor.typing
}

func (w *watch) lastHeard() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.heard
}

// become sets the state and words, and reports the state if it is another.
func (w *watch) become(at time.Time, state State, words, todo string, report func(Health)) {
	w.mu.Lock()
	changed := !w.reported || w.health.State != state
	if changed {
		w.health.State, w.health.Since, w.reported = state, at, true
	}
	w.health.Words, w.health.ToDo = words, todo
	h := w.health
	w.mu.Unlock()
	if changed {
		report(h)
	}
}

// open notes that the port is open.
func (w *watch) open(at time.Time, port string, again bool, report func(Health)) {
	w.mu.Lock()
	w.health.Port, w.heard, w.quiet = port, at, time.Time{}
	if again {
		w.health.Reconnections++
	}
	w.mu.Unlock()
	words, todo := "Connected; nothing received yet.", ""
	switch w.gauge.Capture {
	case CaptureKey:
		words, todo = "Connected; the gauge sends when its key is pressed.", "Press the gauge's key to take a reading."
	case CaptureRequest:
		words, todo = "Connected; the gauge sends when it is asked.", "Press the foot switch, or Take on the bench page, to have it asked."
	case CaptureFoot:
		words = "Connected; its contact is looked at."
	case CaptureLamp:
		words = "Connected; it shows what the bench says."
	case CaptureTyped:
		words, todo = "The gauge types like a keyboard; nothing has been typed yet.", "Press the gauge's key while the bench page is in front to take a reading."
	}
	if w.rest != nil {
		*w.rest = *newRest(w.gauge.ResolutionMM, w.gauge.Sense)
	}
	w.become(at, StateWaiting, words, todo, report)
}

// footless notes why the gauge's foot switch cannot be read, and reports it when that is news.
func (w *watch) footless(why string, report func(Health)) {
	w.mu.Lock()
	changed := w.health.FootSwitch != why
	w.health.FootSwitch = why
	h := w.health
	w.mu.Unlock()
	if changed {
		report(h)
	}
}

// down notes that the port could not be opened or failed.
func (w *watch) down(at time.Time, err error, wasOpen bool, report func(Health)) {
	var e *Error
	if !errors.As(err, &e) {
		e = &Error{Kind: Failed, Port: w.gauge.Path, Err: err}
	}
	state := StateFailed
	switch e.Kind {
	case Missing:
		state = StateMissing
		if wasOpen {
			state = StateUnplugged
		}
	case Unplugged:
		state = StateUnplugged
	case Busy:
		state = StateBusy
	case Denied:
		state = StateDenied
	case Alike:
		state = StateAlike
	}
	kind := e.Kind
	if state == StateUnplugged {
		kind = Unplugged
	}
	words := sentence(e.Port + ": " + kind.Sentence())
	if e.Err != nil && (state == StateFailed || state == StateAlike) {
		words = sentence(e.Port + ": " + kind.Sentence() + " (" + e.Err.Error() + ")")
	}
	todo := sentence(kind.ToDo())
	if kind == Denied {
		todo = w.denied(e)
	}
	if kind == Unplugged && w.gauge.Capture == CaptureFoot {
		todo = "Plug the foot switch in again; it is found by itself."
	}
	if kind == Unplugged && w.gauge.Capture == CaptureLamp {
		todo = "Plug the lamp in again; it is found by itself."
	}
	w.become(at, state, words, todo, report)
}

// denied is what to do about a port that may not be opened. Who may is asked once: a port is tried many times a second, and the accounts
// may lie on another machine.
func (w *watch) denied(e *Error) string {
	w.mu.Lock()
	state, todo := w.health.State, w.health.ToDo
	w.mu.Unlock()
	if state == StateDenied {
		return todo
	}
	return sentence(strings.TrimSuffix(e.ToDo(), "."))
}

// fault notes a refused stretch. The piece before the first known beginning of a frame, as after every opening,
// does not make a gauge garbled.
func (w *watch) fault(at time.Time, e decode.Event, opt Options) {
	w.mu.Lock()
	w.health.Refused++
	w.heard = at
	w.mu.Unlock()
	opt.OnFault(Fault{Gauge: w.gauge.ID, At: at, Offset: e.Offset, Raw: e.Raw, Fault: e.Fault, Why: e.Why, Lost: e.Lost})
	if !e.Lost {
		w.become(at, StateGarbled, "The last bytes made no sense: "+e.Why+".", sentence(Garbled.ToDo()), opt.OnHealth)
	}
}

// settled tells whether a frame is the one to take of its placement.
func (w *watch) settled(at time.Time, v decode.Value) bool {
	return w.rest != nil && w.rest.frame(at, v)
}

// reading notes a frame and hands it on; wanted tells that it is to be used although no data key sent it.
func (w *watch) reading(at time.Time, e decode.Event, wanted bool, opt Options) {
	w.mu.Lock()
	w.health.Frames++
	w.heard = at
	r := Reading{Gauge: w.gauge.ID, At: at, Seq: w.health.Frames, Offset: e.Offset, Raw: e.Raw, Value: *e.Value,
		Key: wanted || w.gauge.pressed(*e.Value), Decoder: w.gauge.Decoder.ID()}
	if !w.quiet.IsZero() && at.Sub(w.quiet) >= offAndOn {
		r.SilentSince = w.quiet
	}
	w.quiet = time.Time{}
	w.mu.Unlock()
	if w.rest != nil {
		r.Unrest = w.rest.unrest
	}
	opt.OnReading(r)
	switch {
	case e.Value.Status == "low battery":
		w.become(at, StateLowBattery, "The gauge reports a low battery.", "Change the battery, then check the gauge.", opt.OnHealth)
	case !e.Value.IsNumber():
		w.become(at, StateLive, "The gauge reports: "+e.Value.Status+".", "", opt.OnHealth)
	default:
		w.become(at, StateLive, "Readings come in.", "", opt.OnHealth)
	}
}

// silent notes that the gauge, heard last at a time, should have been heard since and was not.
func (w *watch) silent(at, since time.Time, words string, report func(Health)) {
	w.mu.Lock()
	if w.quiet.IsZero() {
		w.quiet = since
	}
	w.mu.Unlock()
	w.become(at, StateSilent, words, sentence(Silent.ToDo()), report)
}

// sentence begins with a capital, where it is a word, and ends with a full stop.
func sentence(s string) string {
	return strings.ToUpper(s[:1]) + s[1:] + "."
}
