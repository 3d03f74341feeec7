package infer

import (
	"bytes"
	"regexp"
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

// outer is what stands around a frame's text: a start mark and a checksum.
type outer struct {
	start    []byte
	checksum decode.Checksum
	sum      int // bytes of the checksum
	score    float64
	doubts   []Doubt
}

// outers are the ways to take start mark and checksum. A checksum counts that proves every frame; seen on different ones it is hardly
// chance: one of a byte fits two frames once in 65536.
func (f framing) outers(bodies [][]byte) []outer {
	start := startOf(bodies)
	if f.roles != nil {
		n := 0
		for n < len(f.roles) && f.roles[n] == decode.RoleStart {
			n++
		}
		start = nil
		if last := bodies[len(bodies)-1]; n > 0 && n < len(last) {
			start = last[:n]
		}
	}
	starts := [][]byte{start}
	if len(start) > 0 && f.roles == nil {
		starts = append(starts, nil) // the checksum may begin at the start mark
	}
	different := count(bodies)
	var all []outer
	for i, s := range starts {
		for _, sum := range sums {
			n, proven := proves(sum, bodies, s)
			if !proven || f.roles != nil && n != trailing(f.roles, decode.RoleChecksum) {
				continue
			}
			o := outer{start: s, checksum: sum, sum: n, score: 30 - float64(i)}
			if sum.Encoding == "hex" {
				o.score += 2
			}
			if different < 2 {
				o.score, o.doubts = 2, []Doubt{DoubtChecksum}
			}
			all = append(all, o)
		}
		if i == 0 && (f.roles == nil || len(all) == 0) {
			all = append(all, outer{start: s})
		}
	}
	return all
}

// startOf is the run of control characters that begins every body.
func startOf(bodies [][]byte) []byte {
	n := 0
	for n < len(bodies[0]) && n < 3 && isControl(bodies[0][n]) {
		n++
	}
	for _, b := range bodies {
		for n > 0 && !bytes.HasPrefix(b, bodies[0][:n]) {
			n--
		}
	}
	return bodies[0][:n:n]
}

// sums are the kinds of checksum that are tried.
var sums = func() []decode.Checksum {
	var all []decode.Checksum
	for _, encoding := range []string{"hex", "byte"} {
		for _, kind := range []string{"xor", "sum8", "lrc"} {
			all = append(all, decode.Checksum{Kind: kind, Encoding: encoding, Order: "high-first"})
		}
		for _, order := range []string{"high-first", "low-first"} {
			all = append(all, decode.Checksum{Kind: "crc16-modbus", Encoding: encoding, Order: order})
		}
	}
	return all
}()

// proves tells whether a checksum proves every frame, and how many bytes it takes.
func proves(sum decode.Checksum, bodies [][]byte, start []byte) (n int, ok bool) {
	for _, b := range bodies {
		rest, why := sum.Strip(b[len(start):])
		if why != "" || len(rest) == 0 || len(numbersIn(rest)) == 0 {
			return 0, false
		}
		n = len(b) - len(start) - len(rest)
	}
	return n, true
}

// count is how many of the bodies differ.
func count(bodies [][]byte) int {
	seen := map[string]bool{}
	for _, b := range bodies {
		seen[string(b)] = true
	}
	return len(seen)
}

// trailing is how many of the last roles are of one kind.
func trailing(roles []decode.Role, role decode.Role) int {
	n := 0
	for n < len(roles) && roles[len(roles)-1-n] == role {
		n++
	}
	return n
}

// layout is where the fields of every frame stand.
type layout struct {
	fields []field
	score  float64
	doubts []Doubt
}

// layouts takes each number of the frames for the reading in turn, or the one a person says.
func (f framing) layouts(inner [][]byte, start int) []layout {
	if f.roles != nil {
		if l, ok := saidLayout(inner, f.roles[min(start, len(f.roles)):]); ok {
			return []layout{l}
		}
		return nil
	}
	numbers := make([][]span, len(inner))
	for i, b := range inner {
		if numbers[i] = numbersIn(b); len(numbers[i]) != len(numbers[0]) {
			return nil
		}
	}
	var all []layout
	for j := range numbers[0] {
		spans := make([]span, len(inner))
		for i, b := range inner {
			spans[i] = region(b, numbers[i][j])
		}
		spans = withSignBehind(inner, spans)
		l := layout{fields: []field{{decode.RoleDigits, spans}}}
		l.score = likely(inner, spans)
		all = append(all, l)
	}
	if len(all) > 1 {
		best, second := all[0].score, -100.0
		for _, l := range all[1:] {
			if l.score > best {
				best, second = l.score, best
			} else {
				second = max(second, l.score)
			}
		}
		if best-second < 6 {
			for i := range all {
				all[i].doubts = append(all[i].doubts, DoubtField)
			}
		}
	}
	return all
}

// withSignBehind widens the spans to a sign behind the number, where every frame has one there and none has one before it.
func withSignBehind(inner [][]byte, spans []span) []span {
	wide := slices.Clone(spans)
	for i, b := range inner {
		s := spans[i]
		if bytes.ContainsAny(b[s.from:s.to], "+-") {
			return spans
		}
		to := s.to
		for to < len(b) && b[to] == ' ' {
			to++
		}
		if to == len(b) || b[to] != '+' && b[to] != '-' {
			return spans
		}
		wide[i].to = to + 1
	}
	return wide
}

// likely weighs how much a number looks like a reading: a point, a sign, digits, that it moves, a unit behind it.
func likely(inner [][]byte, spans []span) float64 {
	score := 0.0
	texts := map[string]bool{}
	for i, b := range inner {
		text := string(b[spans[i].from:spans[i].to])
		texts[text] = true
		if i > 0 {
			continue
		}
		if strings.ContainsAny(text, ".,") {
			score += 6
		}
		if strings.ContainsAny(text, "+-") {
			score += 4
		}
		if len(strings.Trim(text, "+- ")) >= 4 {
			score += 2
		}
		if from, _, _, ok := unitIn(string(b[spans[i].to:])); ok && strings.TrimSpace(string(b[spans[i].to:spans[i].to+from])) == "" {
			score += 5
		}
	}
	if len(texts) > 1 {
		score += 5
	} else if len(inner) > 1 {
		score -= 6
	}
	return score
}

// saidLayout takes the fields that a person says of the newest frame over to the others: a number wherever the same one of their
// numbers stands, what stands before it as far from the beginning, what stands behind it as far from the number.
func saidLayout(inner [][]byte, roles []decode.Role) (layout, bool) {
	last := inner[len(inner)-1]
	if len(roles) > len(last) {
		roles = roles[:len(last)]
	}
	var said []field
	for i := 0; i < len(roles); {
		role, to := numeric(roles[i]), i
		for to < len(roles) && numeric(roles[to]) == role {
			to++
		}
		if slices.Contains([]decode.Role{decode.RoleDigits, decode.RoleUnit, decode.RoleChannel, decode.RoleStatus}, role) {
			said = append(said, field{role, []span{{i, to}}})
		}
		i = to
	}
	at := slices.IndexFunc(said, func(f field) bool { return f.role == decode.RoleDigits })
	if at < 0 || len(said) != countRoles(said) {
		return layout{}, false
	}
	number := said[at].spans[0]
	which := slices.IndexFunc(numbersIn(last), func(s span) bool { return s.from < number.to && number.from < s.to })
	l := layout{score: 50}
	for _, f := range said {
		of := field{role: f.role}
		for _, b := range inner {
			moved, ok := moveTo(b, last, f.spans[0], number, which)
			if !ok {
				return layout{}, false
			}
			of.spans = append(of.spans, moved)
		}
		l.fields = append(l.fields, of)
	}
	return l, true
}

// numeric takes sign and digits together.
func numeric(r decode.Role) decode.Role {
	if r == decode.RoleSign {
		return decode.RoleDigits
	}
	return r
}

// countRoles is how many different roles the fields have.
func countRoles(fields []field) int {
	seen := map[decode.Role]bool{}
	for _, f := range fields {
		seen[f.role] = true
	}
	return len(seen)
}

// moveTo is where a stretch of the last frame stands in another.
func moveTo(b, last []byte, s, number span, which int) (span, bool) {
	to := number
	if numbers := numbersIn(b); len(b) != len(last) && which >= 0 && which < len(numbers) {
		grown := numbers[which].to - numbersIn(last)[which].to
		to.to += grown
	}
	switch {
	case s == number:
		s = to
	case s.from >= number.to:
		s.from, s.to = s.from+to.to-number.to, s.to+to.to-number.to
	}
	return s, s.from >= 0 && s.to <= len(b) && s.from < s.to
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

// measure fills in units and scale.
func (s *shape) measure(inner [][]byte, fields []field, w written, c Choice) bool {
	is := ""
	s.units = map[string]string{}
	if i := slices.IndexFunc(fields, func(f field) bool { return f.role == decode.RoleUnit }); i >= 0 {
		for _, word := range texts(inner, fields[i].spans) {
			_, _, one, known := unitIn(word)
			if c.Unit != "" {
				one, known = c.Unit, true
			} else if !known || doubtedUnit(word) {
				s.doubts = append(s.doubts, DoubtUnit)
			}
			if !known {
				one = "mm"
			}
			if is != "" && measures[is].scale != measures[one].scale {
				return false
			}
			is = one
			s.units[word] = measures[one].unit
		}
		s.score += 4
	} else if is = c.Unit; is == "" && bytes.Contains(inner[0], []byte("\xB5m")) { // the sign for micro in ISO 8859-1
		is = "um"
	} else if is == "" {
		s.doubts = append(s.doubts, DoubtUnit)
		is = "mm"
		if w.point != "" && w.places > 3 { // as steps of .0005 and .00005 in have, of mm seldom (common practice, no source)
			is = "in"
		}
	}
	s.fallback, s.scale = measures[is].unit, measures[is].scale
	places := 0
	switch {
	case c.Places != nil && w.point == "":
		places = *c.Places
	case w.point == "" && is != "um":
		s.doubts = append(s.doubts, DoubtPoint)
		places = 3
		if is == "in" {
			places = 4
		}
		if w.whole < 2 {
			places = 0
		}
	}
	for range places {
		s.scale /= 10
	}
	return true
}

// group is the pattern of a field.
func (s *shape) group(f field, seen []string, w written) string {
	switch f.role {
	case decode.RoleDigits:
		return w.pattern
	case decode.RoleChannel:
		return `(?P<channel>` + channelForm(seen) + `)`
	}
	return `(?P<` + string(f.role) + `>` + oneOf(seen) + `)`
}

// oneOf is the pattern of one of the texts seen.
func oneOf(seen []string) string {
	seen = slices.Clone(seen)
	slices.Sort(seen)
	seen = slices.Compact(seen)
	for i := range seen {
		seen[i] = quote(seen[i])
	}
	return strings.Join(seen, "|")
}

// channelForm is the pattern of channels like those seen.
func channelForm(seen []string) string {
	low, high := 99, 0
	class := `\d`
	for _, s := range seen {
		low, high = min(low, len(s)), max(high, len(s))
		for i := range len(s) {
			switch {
			case isDigit(s[i]) && class == `\d`:
			case s[i] >= 'A' && s[i] <= 'Z' && !strings.Contains(class, "a"):
				class = "[A-Z0-9]"
			default:
				class = "[A-Za-z0-9]"
			}
		}
	}
	return counted(class, low, high)
}

// quote makes a pattern of a text; a byte that is no UTF-8 reads as the replacement character.
func quote(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r < 0x20 || r == 0x7F:
			b.WriteString(`\x`)
			b.WriteString(string("0123456789ABCDEF"[r>>4]) + string("0123456789ABCDEF"[r&15]))
		case r == '\'':
			b.WriteString(`\x27`)
		case r == 0xFFFD:
			b.WriteString(`\x{FFFD}`)
		default:
			b.WriteString(regexp.QuoteMeta(string(r)))
		}
	}
	return b.String()
}

// run is a stretch of one kind of character.
type run struct {
	kind byte // 'a' letters, '0' digits, ' ' blanks, '+' a sign, else the character itself
	text string
}

func runsOf(s string) []run {
	var runs []run
	for i := range len(s) {
		kind := s[i]
		switch {
		case isLetter(s[i]):
			kind = 'a'
		case isDigit(s[i]):
			kind = '0'
		case s[i] == '-':
			kind = '+'
		}
		if n := len(runs); n > 0 && runs[n-1].kind == kind && strings.IndexByte("a0 ", kind) >= 0 {
			runs[n-1].text += s[i : i+1]
			continue
		}
		runs = append(runs, run{kind, s[i : i+1]})
	}
	return runs
}

// literal is the pattern of what stands between fields. Where it changes from frame to frame its first change is a channel before the
// number and a status behind it; false where the texts are too different.
func (s *shape) literal(seen []string, changing decode.Role, fields []field) (string, bool) {
	if len(slices.Compact(slices.Clone(seen))) <= 1 {
		return quote(seen[0]), true
	}
	taken := slices.ContainsFunc(fields, func(f field) bool { return f.role == changing })
	all := make([][]run, len(seen))
	for i, t := range seen {
		all[i] = runsOf(t)
	}
	if !sameKinds(all) {
		return s.choices(seen, changing, taken)
	}
	var b strings.Builder
	for j := range all[0] {
		column := make([]string, len(all))
		low, high := 99, 0
		for i := range all {
			column[i] = all[i][j].text
			low, high = min(low, len(column[i])), max(high, len(column[i]))
		}
		kind := all[0][j].kind
		switch {
		case len(slices.Compact(slices.Clone(column))) == 1:
			b.WriteString(quote(column[0]))
		case kind == ' ':
			b.WriteString(blanks(low, high))
		case kind == '+':
			b.WriteString("[+-]")
		case changing == decode.RoleChannel && !taken && !besidePoint(all[0], j):
			taken = true
			b.WriteString(`(?P<channel>` + channelForm(column) + `)`)
			s.score--
		default: // changes and is not understood, as a time of day would be
			s.score -= 8
			s.doubts = append(s.doubts, DoubtOpaque)
			class := `[A-Za-z0-9]`
			if kind == '0' {
				class = `\d`
			}
			b.WriteString(counted(class, low, high))
		}
	}
	return b.String(), true
}

// besidePoint tells digits that are part of a number with a point.
func besidePoint(runs []run, j int) bool {
	return j > 0 && isPoint(runs[j-1].kind) || j+1 < len(runs) && runs[j+1].kind == '.'
}

func sameKinds(all [][]run) bool {
	for _, runs := range all {
		if !slices.EqualFunc(runs, all[0], func(a, b run) bool { return a.kind == b.kind }) {
			return false
		}
	}
	return true
}

// choices is the pattern of texts of different kinds: few of them, of which one may be empty, are a status behind the number or a
// channel before it; bytes that change every time are not understood.
func (s *shape) choices(seen []string, changing decode.Role, taken bool) (string, bool) {
	sorted := slices.Clone(seen)
	slices.Sort(sorted)
	sorted = slices.Compact(sorted)
	low, high := 99, 0
	for _, t := range sorted {
		low, high = min(low, len(t)), max(high, len(t))
	}
	if len(sorted) < len(seen) && len(sorted) <= 3 && !taken {
		return `(?P<` + string(changing) + `>` + oneOf(sorted) + `)`, true
	}
	if high > 4 {
		return "", false
	}
	s.score -= 12
	s.doubts = append(s.doubts, DoubtOpaque)
	return counted(`(?s:.)`, low, high), true
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
