package decode

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"time"
)

// The problem: bytes come in pieces of any size, some are lost or wrong on the way, and a piece of a number can
// look like a number. "+10.123" without its first two bytes is "0.123", and nothing in those bytes tells. So a
// frame counts only from a place known to be a frame's beginning: the beginning of a recording, what follows an
// end mark, a start mark. After opening a live port, after a silence inside a frame and after a frame without an
// end, no such place is known; what comes then is discarded up to the next end mark, and reported.
//
// Everything works byte by byte, so that how the bytes were cut into pieces cannot change the outcome.

// longestPause is the silence inside a frame after which the frame is given up as cut.
const longestPause = 200 * time.Millisecond

// mostMM is the most that a frame's number may say, mm, of either sign; beyond it bytes were damaged or the scale is wrong,
// and the frame is a fault. No indicator, height gauge or probe travels 10 m (common practice, no source). A register that a
// CRC proves is what the gauge holds and is not doubted.
const mostMM = 10_000

// Stream cuts one gauge's bytes into frames. It belongs to one goroutine.
type Stream struct {
	d      *Decoder
	buf    []byte          // the stretch in progress
	when   []time.Duration // when each byte of buf came
	offset int64           // of buf[0] from the stream's start
	synced bool            // buf[0] is known to be a frame's beginning
	last   time.Duration   // when the newest byte came
	heard  bool            // one has come
}

// Stream begins a stream. fromFrameStart says that the first byte is known to be a frame's beginning, as in a
// recording; it is not for a live port.
func (d *Decoder) Stream(fromFrameStart bool) *Stream {
	return &Stream{d: d, synced: fromFrameStart}
}

// Feed takes bytes that came at the given time after the stream's start and returns what they complete. Times must
// not fall. The events own their bytes.
func (s *Stream) Feed(at time.Duration, b []byte) []Event {
	events := s.silence(at, nil)
	for _, v := range b {
		s.last, s.heard = at, true
		s.buf, s.when = append(s.buf, v), append(s.when, at)
		switch f := &s.d.Frame; {
		case f.Length > 0:
			events = s.fixed(events)
		case f.Idle > 0:
			if len(s.buf) > f.MaxBytes {
				events = s.tooLong(events)
			}
		default:
			events = s.terminated(events)
		}
	}
	return events
}

// Idle tells the stream that no byte came up to the given time, and returns what that silence completes or cuts.
func (s *Stream) Idle(at time.Duration) []Event { return s.silence(at, nil) }

// End tells the stream that nothing will follow, and returns what is unfinished as cut.
func (s *Stream) End(at time.Duration) []Event {
	events := s.silence(at, nil)
	if len(s.buf) > 0 {
		events = s.unfinished(events, "unfinished at the end")
	}
	return events
}

// silence looks at how long no byte came.
func (s *Stream) silence(at time.Duration, events []Event) []Event {
	if !s.heard {
		return events
	}
	gap := at - s.last
	if idle := s.d.Frame.Idle; idle > 0 {
		if gap < idle {
			return events
		}
		if len(s.buf) > 0 {
			events = s.whole(events, len(s.buf))
		}
		s.synced = true // a frame begins after the silence that ends another
	} else if gap >= longestPause && len(s.buf) > 0 {
		events = s.unfinished(events, "a silence inside the frame")
	}
	return events
}

// terminated is called after every byte where frames have an end mark.
func (s *Stream) terminated(events []Event) []Event {
	end := s.d.Frame.End
	if bytes.HasSuffix(s.buf, end) {
		return s.whole(events, len(s.buf)-len(end))
	}
	if len(s.buf) > s.d.Frame.MaxBytes && len(s.buf)-begun(s.buf, end) > s.d.Frame.MaxBytes {
		return s.tooLong(events)
	}
	return events
}

// begun is how many bytes at the end of buf may be the beginning of the end mark.
func begun(buf, end []byte) int {
	for n := min(len(end)-1, len(buf)); n > 0; n-- {
		if bytes.HasSuffix(buf, end[:n]) {
			return n
		}
	}
	return 0
}

// whole ends the stretch in progress: its first body bytes are a frame, the rest its end mark. A frame that was
// damaged before its start mark came again is read from the last start mark.
func (s *Stream) whole(events []Event, body int) []Event {
	if !s.synced {
		events = s.refuse(events, len(s.buf), body, Garbled, "began where no frame is known to begin")
		s.synced = true
		return events
	}
	v, why := s.d.read(s.buf[:body])
	if start := s.d.Frame.Start; v == nil && len(start) > 0 {
		if i := bytes.LastIndex(s.buf[:body], start); i > 0 {
			if again, _ := s.d.read(s.buf[i:body]); again != nil {
				events = s.refuse(events, i, i, Garbled, "bytes before a start mark")
				return s.accept(events, again)
			}
		}
	}
	if v == nil {
		return s.refuse(events, len(s.buf), body, Garbled, why)
	}
	return s.accept(events, v)
}

func (s *Stream) tooLong(events []Event) []Event {
	events = s.refuse(events, len(s.buf), len(s.buf), Garbled, "longer than a frame may be, without an end")
	s.synced = false
	return events
}

// unfinished gives up the stretch in progress.
func (s *Stream) unfinished(events []Event, why string) []Event {
	fault := Cut
	if n := s.d.Frame.Length; n > 0 && len(s.buf) >= n {
		fault, why = Garbled, "no whole frame fits"
	}
	events = s.refuse(events, len(s.buf), len(s.buf), fault, why)
	s.synced = false
	return events
}

// fixed is called after every byte where frames have a fixed length. Only the window that ends with this byte is
// new. Where frames show themselves a window that reads well is a frame; elsewhere it is one only where a frame is
// known to begin, and otherwise only shows where the next one begins.
func (s *Stream) fixed(events []Event) []Event {
	n := s.d.Frame.Length
	for _, length := range []int{n, s.d.shorter} {
		from := len(s.buf) - length
		if length == 0 || from < 0 {
			continue
		}
		v, _ := s.d.read(s.buf[from:])
		if v == nil {
			continue
		}
		if s.d.showsItself() {
			if from > 0 {
				events = s.refuse(events, from, from, Garbled, "no whole frame fits")
			}
			events = s.accept(events, v)
		} else if s.synced && from == 0 {
			events = s.accept(events, v)
		} else {
			events = s.refuse(events, len(s.buf), len(s.buf), Garbled, "began where no frame is known to begin")
		}
		s.synced = true
		return events
	}
	if len(s.buf) >= n+s.d.Frame.MaxBytes {
		keep := n - 1
		events = s.refuse(events, len(s.buf)-keep, len(s.buf)-keep, Garbled, "no whole frame fits")
		s.synced = false
	}
	return events
}

// showsItself tells whether a frame of fixed length is known by its own bytes, wherever it begins: by a start mark,
// or by an address and a CRC.
func (d *Decoder) showsItself() bool { return len(d.Frame.Start) > 0 || d.Family == "modbus-rtu" }

// accept makes the whole stretch in progress a reading.
func (s *Stream) accept(events []Event, v *Value) []Event {
	e := s.take(len(s.buf))
	e.Value, e.body = v, len(e.Raw)
	return append(events, e)
}

// refuse makes the first n bytes of the stretch in progress a fault; body of them come before the end mark.
func (s *Stream) refuse(events []Event, n, body int, fault, why string) []Event {
	e := s.take(n)
	e.Fault, e.Why, e.body, e.Lost = fault, why, body, !s.synced
	return append(events, e)
}

func (s *Stream) take(n int) Event {
	e := Event{At: s.when[n-1], Offset: s.offset, Raw: slices.Clone(s.buf[:n])}
	s.buf, s.when = slices.Delete(s.buf, 0, n), slices.Delete(s.when, 0, n)
	s.offset += int64(n)
	return e
}

// read says what a frame means, its end mark taken off; why says what is wrong when it means nothing.
func (d *Decoder) read(frame []byte) (v *Value, why string) {
	inner, ok := bytes.CutPrefix(frame, d.Frame.Start)
	if !ok {
		return nil, "does not begin with the start mark"
	}
	inner, why = d.Checksum.Strip(inner)
	if why != "" {
		return nil, why
	}
	if v, why = d.reader.read(inner); v != nil && v.IsNumber() && d.Family != "modbus-rtu" && !(math.Abs(v.MM) <= mostMM) {
		return nil, fmt.Sprintf("%g mm is more than any gauge shows, %d mm", v.MM, mostMM)
	}
	return v, why
}
