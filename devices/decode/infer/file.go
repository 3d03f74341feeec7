package infer

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sagitta/devices/decode"
)

// candidate makes the decoder of a shape and reads what was heard with it. ok is false where it reads none of it, or less than most.
func (s *shape) candidate(h Heard) (Candidate, bool) {
	d, err := decode.Load("inferred", s.file("as heard"))
	if err != nil {
		return Candidate{}, false
	}
	c := Candidate{Decoder: d, Reads: readAll(d, h.Chunks), shape: s, score: s.score, Doubts: newly(nil, s.doubts...)}
	read, refused := 0, 0
	for _, e := range c.Reads {
		if e.Value != nil {
			read++
		} else if e.Fault == decode.Garbled {
			refused++
		}
	}
	if len(c.numbers()) == 0 || refused > 1+read/4 {
		return Candidate{}, false
	}
	c.score -= 15 * float64(refused)
	c.Doubts = newly(c.Doubts, slices.DeleteFunc(doubtsOf(c), func(d Doubt) bool { return d != DoubtSame })...)
	return c, true
}

// File is the decoder's file: of a built-in one with its line as heard, else as made of the bytes. name is what people call it.
func (c *Candidate) File(name string, line decode.Line) ([]byte, error) {
	if c.Builtin != "" {
		return decode.WithLine(c.Builtin, line)
	}
	s := *c.shape
	s.line = line
	text := s.file(name)
	_, err := decode.Load(name, text)
	return text, err
}

// file writes the decoder.
func (s *shape) file(name string) []byte {
	var b bytes.Buffer
	say := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	say("# Made from what the gauge sent; compare what it reads with the gauge's display before it judges.")
	say("name = %s\nfamily = \"text\"\n", text(name))
	say("[line]\nbaud = %d\ndata_bits = %d\nparity = %s\nstop_bits = %s\n", s.line.Baud, s.line.DataBits, text(s.line.Parity), strconv.FormatFloat(s.line.StopBits, 'f', -1, 64))
	say("[frame]")
	if s.frame.Start != nil {
		say("start = %s", text(string(s.frame.Start)))
	}
	switch {
	case s.frame.Length > 0:
		say("length = %d", s.frame.Length)
	case s.frame.Idle > 0:
		say("idle_ms = %d", s.frame.Idle.Milliseconds())
	default:
		say("end = %s", text(string(s.frame.End)))
	}
	say("max_bytes = 64\n\n[text]\npattern = '%s'", s.pattern)
	if len(s.units) == 0 {
		say("default_unit = %s", text(s.fallback))
	}
	say("scale = %s", strconv.FormatFloat(s.scale, 'f', -1, 64))
	table := func(head string, m map[string]string) {
		if len(m) == 0 {
			return
		}
		say("[text.%s]", head)
		keys := make([]string, 0, len(m))
		for k := range m {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		for _, k := range keys {
			say("%s = %s", text(k), text(m[k]))
		}
	}
	table("units", s.units)
	table("status", s.status)
	if s.checksum.Kind != "" {
		say("\n[checksum]\nkind = %s\nencoding = %s\norder = %s", text(s.checksum.Kind), text(s.checksum.Encoding), text(s.checksum.Order))
	}
	if s.request != nil {
		say("\n[request]\nbytes = %s\nevery_ms = 200\ntimeout_ms = 500", text(string(s.request)))
	}
	return b.Bytes()
}

// text writes a TOML string: the escapes of JSON are among TOML's.
func text(s string) string {
	var b strings.Builder
	out := json.NewEncoder(&b)
	out.SetEscapeHTML(false)
	_ = out.Encode(strings.ToValidUTF8(s, "\uFFFD")) // a string has no error
	return strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\x7f", `\u007F`)
}
