package infer

import (
	"bytes"
	"slices"
	"strings"

	"sagitta/devices/decode"
)

// shape is what the frames of one gauge look like: a decoder file in parts.
type shape struct {
	line     decode.Line
	frame    decode.Frame
	checksum decode.Checksum
	request  []byte
	pattern  string
	units    map[string]string // as sent -> mm or in
	fallback string            // the unit where none is sent, mm or in
	scale    float64
	status   map[string]string

	score  float64
	doubts []Doubt
}

// field is a named stretch of every frame.
type field struct {
	role  decode.Role
	spans []span // one of each frame
}

// shapes makes what the frames may look like, one of every way to take start mark, checksum and number.
func (f framing) shapes(c Choice) []*shape {
	readings, words := alike(f.bodies)
	if len(readings) == 0 {
		return nil
	}
	var all []*shape
	for _, o := range f.outers(readings) {
		inner := make([][]byte, len(readings))
		for i, b := range readings {
			inner[i] = b[len(o.start) : len(b)-o.sum]
		}
		for _, l := range f.layouts(inner, len(o.start)) {
			s := &shape{frame: f.frame, checksum: o.checksum, score: f.score + o.score + l.score, doubts: slices.Concat(f.doubts, o.doubts, l.doubts)}
			s.frame.Start = nil
			if len(o.start) > 0 {
				s.frame.Start = o.start
			}
			if s.fill(inner, l, c) {
				s.words(words, len(o.start))
				s.score += 10 * float64(len(readings)) / float64(len(f.bodies))
				all = append(all, s)
			}
		}
	}
	if len(all) == 0 && len(f.bodies) > Enough { // the first may have been joined in its middle
		f.bodies = f.bodies[1:]
		return f.shapes(c)
	}
	return all
}

// alike parts the bodies into readings, which are written alike, and what has no number. Of several ways of writing the one most
// frames have counts, of equals the newest.
func alike(bodies [][]byte) (readings, words [][]byte) {
	counts := map[string]int{}
	form := func(b []byte) string {
		numbers := numbersIn(b)
		if len(numbers) == 0 {
			return ""
		}
		return strings.Repeat("n", len(numbers))
	}
	best := ""
	for _, b := range bodies {
		if f := form(b); f != "" {
			counts[f]++
			if counts[f] >= counts[best] {
				best = f
			}
		}
	}
	for _, b := range bodies {
		switch form(b) {
		case "":
			words = append(words, b)
		case best:
			readings = append(readings, b)
		}
	}
	return readings, words
}

// fill makes the pattern; false where the frames are not alike enough for one.
func (s *shape) fill(inner [][]byte, l layout, c Choice) bool {
	at := slices.IndexFunc(l.fields, func(f field) bool { return f.role == decode.RoleDigits })
	number := l.fields[at]
	w, ok := numberForm(texts(inner, number.spans))
	if !ok {
		return false
	}
	fields := slices.Clone(l.fields)
	unitAt := slices.IndexFunc(fields, func(f field) bool { return f.role == decode.RoleUnit })
	if unitAt < 0 {
		if u, ok := findUnit(inner, number.spans); ok {
			fields = append(fields, u)
		}
	}
	slices.SortFunc(fields, func(a, b field) int { return a.spans[0].from - b.spans[0].from })
	if !s.measure(inner, fields, w, c) {
		return false
	}
	var pattern strings.Builder
	pattern.WriteByte('^')
	from := make([]int, len(inner))
	for _, f := range fields {
		between := make([]span, len(inner))
		for i := range inner {
			if between[i] = (span{from[i], f.spans[i].from}); between[i].to < between[i].from {
				return false
			}
			from[i] = f.spans[i].to
		}
		text, ok := s.literal(texts(inner, between), decode.RoleChannel, fields)
		if !ok {
			return false
		}
		pattern.WriteString(text)
		pattern.WriteString(s.group(f, texts(inner, f.spans), w))
	}
	rest := make([]span, len(inner))
	for i, b := range inner {
		rest[i] = span{from[i], len(b)}
	}
	text, ok := s.literal(texts(inner, rest), decode.RoleStatus, fields)
	pattern.WriteString(text + "$")
	s.pattern = pattern.String()
	if !w.minus && !w.signed {
		s.doubts = append(s.doubts, DoubtSign)
	}
	return ok
}

// texts are the stretches of the frames.
func texts(inner [][]byte, spans []span) []string {
	all := make([]string, len(inner))
	for i, b := range inner {
		all[i] = string(b[spans[i].from:spans[i].to])
	}
	return all
}

// findUnit finds the word that every frame has for its unit: behind the number, else before it.
func findUnit(inner [][]byte, number []span) (field, bool) {
	f := field{role: decode.RoleUnit}
	for _, before := range []bool{false, true} {
		f.spans = nil
		for i, b := range inner {
			part, offset := string(b[number[i].to:]), number[i].to
			if before {
				part, offset = string(b[:number[i].from]), 0
			}
			from, to, _, ok := unitIn(part)
			if !ok || before && to-from < 2 {
				break
			}
			f.spans = append(f.spans, span{offset + from, offset + to})
		}
		if len(f.spans) == len(inner) {
			return f, true
		}
	}
	return field{}, false
}

// statusMeanings are what gauges' words mean (common practice, no source).
var statusMeanings = []struct{ begins, means string }{
	{"OVER", "overload"}, {"OL", "overload"}, {"OVF", "overload"}, {"OF", "overload"}, {"BAT", "low battery"}, {"LOW", "low battery"}, {"LB", "low battery"},
}

// words takes frames without a number for statuses.
func (s *shape) words(frames [][]byte, start int) {
	for _, f := range frames {
		if len(f) <= start || !bytes.HasPrefix(f, s.frame.Start) {
			continue
		}
		inner, why := s.checksum.Strip(f[start:])
		if why != "" || len(inner) == 0 || slices.ContainsFunc(inner, isControl) {
			continue
		}
		if s.status == nil {
			s.status = map[string]string{}
		}
		means := "no reading"
		for _, m := range statusMeanings {
			if strings.HasPrefix(strings.ToUpper(strings.Trim(string(inner), "+- ")), m.begins) {
				means = m.means
			}
		}
		s.status[string(inner)] = means
	}
}
