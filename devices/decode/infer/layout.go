package infer

import (
	"bytes"
	"slices"
	"strings"

	"sagitta/devices/decode"
)

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
		if afterThousands(inner[0], numbers[0][j]) {
			l.doubts = append(l.doubts, DoubtField)
		}
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
				all[i].doubts = newly(all[i].doubts, DoubtField)
			}
		}
	}
	return all
}

// afterThousands tells a number of three digits before its point that a digit and a comma stand before: they may be its thousands.
func afterThousands(b []byte, s span) bool {
	point := bytes.IndexByte(b[s.from:s.to], '.')
	return point == 3 && s.from >= 2 && b[s.from-1] == ',' && isDigit(b[s.from-2])
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
