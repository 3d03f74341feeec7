package infer

import (
	"regexp"
	"slices"
	"strings"

	"sagitta/devices/decode"
)

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
