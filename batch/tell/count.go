package tell

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Count is a number with its noun, whose plural takes an s: "1 neck", "2 necks".
func Count(n int, noun string) string { return Counted(n, noun, noun+"s") }

// Counted is a number with what is said of one or of many: Counted(2, "neck is", "necks are") is "2 necks are".
func Counted(n int, one, many string) string { return strconv.Itoa(n) + " " + Plural(n, one, many) }

// Plural is one for 1, many for every other number.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// List joins words: "a", "a and b", "a, b and c".
func List(words []string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
}

// Upper begins a sentence.
func Upper(s string) string { return first(s, unicode.ToUpper) }

// Lower begins a label or sentence in the middle of another.
func Lower(s string) string { return first(s, unicode.ToLower) }

func first(s string, change func(rune) rune) string {
	if s == "" {
		return s
	}
	r, size := utf8.DecodeRuneInString(s)
	return string(change(r)) + s[size:]
}
