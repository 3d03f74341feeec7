package tell

import (
	"regexp"
	"strings"
)

// hyphenMinus is a minus sign in front of a number: at the start of a word or behind a bracket.
var hyphenMinus = regexp.MustCompile(`(^|[\s(±])-(\.?\d)`)

// Minus puts a true minus in front of the numbers of a text, which was recorded or noted with the keyboard's hyphen.
func Minus(text string) string { return hyphenMinus.ReplaceAllString(text, "$1−$2") }

// Sentence is an error's text for people: it begins with a capital letter, ends with a full stop and has true minus signs. A serial number, or
// the name of a file or key, that it begins with stays as it is.
func Sentence(err error) string {
	text := Minus(strings.TrimSpace(err.Error()))
	if text == "" {
		return ""
	}
	if word, _, _ := strings.Cut(text, " "); !strings.ContainsAny(word, "._/:0123456789") {
		text = Upper(text)
	}
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return text
}
