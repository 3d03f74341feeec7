package batch

import (
	"strings"
	"unicode"
)

// FileName makes of a number a file's name that every system takes: what is no letter, digit, dot, dash, underscore or blank becomes an
// underscore, and it begins with none but a letter, digit or underscore.
func FileName(number string) string {
	name := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune(".-_ ", r) {
			return r
		}
		return '_'
	}, strings.TrimSpace(number))
	if name == "" || strings.ContainsRune(".- ", rune(name[0])) {
		name = "_" + name
	}
	return strings.TrimRight(name, ". ")
}
