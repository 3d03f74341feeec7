// Package scan reads what a bar-code scanner sends: the code without its wrapping.
package scan

import (
	"regexp"
	"strings"
	"unicode"
)

// Scan is one scanned or typed text.
type Scan struct {
	Text   string // the code alone: no control characters, no blanks around it
	Marked bool   // its wrapping says that a scanner sent it, so that it is no value that somebody typed
}

// symbology is the identifier that a scanner may send in front of a code: a bracket, the kind's letter, a modifier (ISO/IEC 15424).
var symbology = regexp.MustCompile(`^\][A-Za-z][0-9A-Za-z]`)

// Of unwraps a text: ends of line, tabs and other control characters, blanks around the code, a symbology identifier such as
// "]C0", "]Q1" or "]d2", and the stars with which Code 39 begins and ends (ISO/IEC 16388), which some scanners send too.
func Of(sent string) Scan {
	s := Scan{Text: bare(sent)}
	for {
		text := symbology.ReplaceAllString(s.Text, "")
		if len(text) > 1 && text[0] == '*' && text[len(text)-1] == '*' {
			text = text[1 : len(text)-1]
		}
		if text = strings.TrimSpace(text); text == s.Text {
			return s
		}
		s.Text, s.Marked = text, true
	}
}

// bare drops control characters, what is no text, and blanks around the rest.
func bare(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, text))
}

// Forms are the ways in which a code may be on file, the likeliest first: as it came, in capitals, in small letters (a keyboard's
// shift lock turns them), and each without blanks.
func (s Scan) Forms() []string {
	closed := strings.Join(strings.Fields(s.Text), "")
	var forms []string
	seen := map[string]bool{"": true}
	for _, text := range []string{s.Text, strings.ToUpper(s.Text), strings.ToLower(s.Text), closed, strings.ToUpper(closed), strings.ToLower(closed)} {
		if !seen[text] {
			seen[text] = true
			forms = append(forms, text)
		}
	}
	return forms
}

// Is says whether the scan is a code, in any case and with any blanks.
func (s Scan) Is(code string) bool {
	closed := func(text string) string { return strings.Join(strings.Fields(text), "") }
	return s.Text != "" && strings.EqualFold(closed(s.Text), closed(code))
}
