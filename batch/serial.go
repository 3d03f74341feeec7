package batch

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// LongestSerial bounds a serial number, characters.
const LongestSerial = 64

// AllowedSerial says what a serial number may be.
const AllowedSerial = "a serial number of 1 to 64 characters, none of which controls a device"

// IsSerial says that a text may be a new serial number: valid UTF-8 of at most 64 characters, not blank, without control characters.
func IsSerial(text string) bool {
	return strings.TrimSpace(text) != "" && utf8.ValidString(text) && utf8.RuneCountInString(text) <= LongestSerial && strings.IndexFunc(text, unicode.IsControl) < 0
}

// Shown is a text as messages quote it: its beginning where it is long.
func Shown(text string) string {
	const most = 80
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	n := 0
	for i := range text {
		if n == most {
			return text[:i] + "…"
		}
		n++
	}
	return text
}
