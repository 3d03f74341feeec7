package show

import (
	"html/template"
	"regexp"
	"strings"
)

var indexed = regexp.MustCompile(`\b([a-zA-Z])_([a-z0-9]+)\b`)

// Formula writes a formula of plain signs with its indices set low and with minus signs.
func Formula(plain string) template.HTML {
	text := strings.ReplaceAll(template.HTMLEscapeString(plain), " - ", " − ")
	return template.HTML(indexed.ReplaceAllString(text, "$1<sub>$2</sub>"))
}
