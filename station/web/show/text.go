package show

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// UpperFirst begins a sentence.
func UpperFirst(s string) string {
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:]
}

// LowerFirst begins a label in the middle of a sentence.
func LowerFirst(s string) string {
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToLower(first)) + s[size:]
}

// Counted is a number with the word that fits it.
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// Pick chooses between two words.
func Pick(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

// Spaced is a characteristic's name in words.
func Spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }
