package devices

import (
	"fmt"
	"strings"
	"time"

	"sagitta/devices/decode"
)

const (
	// typedWithin is the longest time between two keys of a gauge or scanner that types; people take longer.
	typedWithin = 30 * time.Millisecond
	// prefixedWithin is the same after a gauge's own prefix, which people do not type by chance.
	prefixedWithin = 250 * time.Millisecond
)

// Burst is what came from the keyboard in one go, up to Enter or Tab.
type Burst struct {
	Text string          // without the key that ended it
	End  byte            // that key: '\r' or '\t'
	Gaps []time.Duration // between one key and the next, the last one before End: as many as Text has characters
}

// Typed takes a burst that is one of the gauges' that type: it begins with the gauge's prefix or, where it has none,
// was typed faster than people type and is one whole frame of its decoder. The gauge's ID is "" when the burst is
// nobody's. A burst with a gauge's prefix that its decoder refuses is reported as the gauge's fault. The callbacks are
// called before Typed returns.
func (s *Supervisor) Typed(b Burst) (gauge string) {
	s.typing.Lock()
	defer s.typing.Unlock()
	for _, w := range s.gauges {
		g := w.gauge
		if g.Capture != CaptureTyped {
			continue
		}
		frame, ok := strings.CutPrefix(b.Text, g.Prefix)
		if !ok || !b.faster(g.Prefix) {
			continue
		}
		e := decode.Event{Raw: append([]byte(b.Text), b.End), Offset: w.typed}
		var why string
		if e.Value, why = typedFrame(g, frame); e.Value == nil && g.Prefix == "" {
			continue
		}
		w.typed += int64(len(e.Raw))
		now := s.opt.Now()
		if e.Value == nil {
			e.Fault, e.Why = decode.Garbled, why
			w.fault(now, e, s.opt)
		} else {
			w.reading(now, e, true, s.opt)
		}
		return g.ID
	}
	return ""
}

// faster tells whether no key of the burst came too late to be a gauge's.
func (b Burst) faster(prefix string) bool {
	within := typedWithin
	if prefix != "" {
		within = prefixedWithin
	}
	if len(b.Gaps) < len([]rune(b.Text)) {
		return false
	}
	for _, gap := range b.Gaps {
		if gap < 0 || gap > within {
			return false
		}
	}
	return true
}

// typedFrame reads one frame that came without its end mark: a key stood for it.
func typedFrame(g Gauge, text string) (v *decode.Value, why string) {
	stream := g.Decoder.Stream(true)
	events := stream.Feed(0, append([]byte(text), g.Decoder.Frame.End...))
	events = append(events, stream.Idle(standstill)...)
	events = append(events, stream.End(standstill)...)
	switch {
	case len(events) != 1:
		return nil, fmt.Sprintf("holds %d frames, allowed is one", len(events))
	case events[0].Value == nil:
		return nil, events[0].Why
	case !g.takes(*events[0].Value):
		return nil, fmt.Sprintf("its channel is %q, wanted is %q", events[0].Value.Channel, g.Channel)
	}
	return events[0].Value, ""
}
