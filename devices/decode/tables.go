package decode

import (
	"time"
)

const (
	defaultMaxBytes = 64
	mostBytes       = 4096 // in one frame
	mostIdle        = 200  // ms; a longer silence inside a frame is a cut
)

func (c *check) line(f *file, l *Line) {
	*l = Line{DataBits: 8, Parity: "none", StopBits: 1}
	if f.Line == nil || f.Line.Baud == nil {
		c.add("line.baud", "missing; bits per second, such as 9600")
		return
	}
	if l.Baud = *f.Line.Baud; l.Baud < 50 || l.Baud > 4_000_000 {
		c.add("line.baud", "found %d; allowed: 50 to 4000000", l.Baud)
	}
	if b := f.Line.DataBits; b != nil {
		if l.DataBits = *b; l.DataBits < 5 || l.DataBits > 8 {
			c.add("line.data_bits", "found %d; allowed: 5, 6, 7, 8", l.DataBits)
		}
	}
	if p := f.Line.Parity; p != nil {
		l.Parity = *p
		c.word("line.parity", *p, "none", "even", "odd", "mark", "space")
	}
	if s := f.Line.StopBits; s != nil {
		if l.StopBits = *s; l.StopBits != 1 && l.StopBits != 1.5 && l.StopBits != 2 {
			c.add("line.stop_bits", "found %v; allowed: 1, 1.5, 2", l.StopBits)
		}
	}
}

func (c *check) frame(f *file, fr *Frame) {
	fr.MaxBytes = defaultMaxBytes
	if f.Frame == nil {
		c.add("frame", "missing; give end, start and end, length, or idle_ms")
		return
	}
	w := f.Frame
	ways := 0
	if w.End != nil {
		ways++
		if fr.End = []byte(*w.End); len(fr.End) == 0 {
			c.add("frame.end", "found an empty text; give the bytes that end a frame, such as \"\\r\\n\"")
		}
	}
	if w.Length != nil {
		ways++
		if fr.Length = *w.Length; fr.Length < 1 || fr.Length > mostBytes {
			c.add("frame.length", "found %d; allowed: 1 to %d bytes, start and checksum included", fr.Length, mostBytes)
		}
	}
	if w.IdleMS != nil {
		ways++
		if fr.Idle = time.Duration(*w.IdleMS) * time.Millisecond; *w.IdleMS < 1 || *w.IdleMS > mostIdle {
			c.add("frame.idle_ms", "found %d; allowed: 1 to %d", *w.IdleMS, mostIdle)
		}
	}
	if ways != 1 {
		c.add("frame", "found %d of end, length and idle_ms; exactly one is allowed", ways)
	}
	if w.Start != nil {
		if fr.Start = []byte(*w.Start); len(fr.Start) == 0 {
			c.add("frame.start", "found an empty text; give the bytes that begin a frame or leave the key out")
		}
		if w.IdleMS != nil {
			c.add("frame.start", "not allowed beside idle_ms; it goes with end or with length")
		}
		if w.Length != nil && len(fr.Start) >= fr.Length {
			c.add("frame.length", "found %d; it must be longer than start (%d bytes)", fr.Length, len(fr.Start))
		}
	}
	if w.MaxBytes != nil {
		if fr.MaxBytes = *w.MaxBytes; fr.MaxBytes < 1 || fr.MaxBytes > mostBytes {
			c.add("frame.max_bytes", "found %d; allowed: 1 to %d", fr.MaxBytes, mostBytes)
		}
	}
}

func (c *check) checksum(f *file, s *Checksum) {
	if f.Checksum == nil {
		return
	}
	if f.Checksum.Kind == nil {
		c.add("checksum.kind", "missing; one of \"xor\", \"sum8\", \"lrc\", \"crc16-modbus\"")
	} else {
		s.Kind = *f.Checksum.Kind
		c.word("checksum.kind", s.Kind, "xor", "sum8", "lrc", "crc16-modbus")
	}
	if f.Checksum.Encoding == nil {
		c.add("checksum.encoding", "missing; one of \"hex\", \"byte\"")
	} else {
		s.Encoding = *f.Checksum.Encoding
		c.word("checksum.encoding", s.Encoding, "hex", "byte")
	}
	switch order := f.Checksum.Order; {
	case order != nil:
		s.Order = *order
		c.word("checksum.order", s.Order, highFirst, lowFirst)
	case s.Encoding == "byte":
		s.Order = lowFirst
	default:
		s.Order = highFirst
	}
}

func (c *check) request(f *file, r *Request) {
	w := f.Request
	if w.Bytes == nil || *w.Bytes == "" {
		c.add("request.bytes", "missing; the bytes that ask the gauge for a reading")
	} else {
		r.Bytes = []byte(*w.Bytes)
	}
	if w.EveryMS == nil {
		c.add("request.every_ms", "missing; ms between requests, 0 for only when asked")
	}
	c.timing(f, r)
}

// asks is the request of a family that makes its own bytes; [request] may only change its timing.
func (c *check) asks(f *file, r *Request, bytes []byte) {
	*r = Request{Bytes: bytes, Every: 200 * time.Millisecond}
	if f.Request != nil && f.Request.Bytes != nil {
		c.add("request.bytes", "not allowed; the family %q makes its own request", *f.Family)
	}
	c.timing(f, r)
}

func (c *check) timing(f *file, r *Request) {
	r.Timeout = 500 * time.Millisecond
	w := f.Request
	if w == nil {
		return
	}
	if w.EveryMS != nil {
		if r.Every = time.Duration(*w.EveryMS) * time.Millisecond; *w.EveryMS < 0 || *w.EveryMS > 3_600_000 {
			c.add("request.every_ms", "found %d; allowed: 0 to 3600000", *w.EveryMS)
		}
	}
	if w.TimeoutMS != nil {
		if r.Timeout = time.Duration(*w.TimeoutMS) * time.Millisecond; *w.TimeoutMS < 1 || *w.TimeoutMS > 60_000 {
			c.add("request.timeout_ms", "found %d; allowed: 1 to 60000", *w.TimeoutMS)
		}
	}
}
