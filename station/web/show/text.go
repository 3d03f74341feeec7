package show

import (
	"strings"
)

// Pick chooses between two words.
func Pick(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

// Spaced is a characteristic's name in words.
func Spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }
