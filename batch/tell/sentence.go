package tell

import "strings"

// Sentence is an error's text for people: it begins with a capital letter and ends with a full stop. A serial number, or
// the name of a file or key, that it begins with stays as it is.
func Sentence(err error) string {
	text := strings.TrimSpace(err.Error())
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
