package specs

import (
	_ "embed"
	"fmt"
	"strings"

	"sagitta/station/web/show"
)

// exampleSpec is a complete, commented specification of an invented six-string to start from.
//
//go:embed example.toml
var exampleSpec string

// specKey says what a key of a specification's text holds.
type specKey struct{ Block, Key, About string }

// specKeys lists the keys of a specification's text in the form's order.
func specKeys() []specKey {
	var all []specKey
	for _, sec := range sections {
		for _, table := range sec.paths {
			block := ""
			switch {
			case lists[table]:
				block = "[[" + table + "]]"
			case table != "":
				block = "[" + table + "]"
			}
			for _, k := range inTable[table] {
				all = append(all, specKey{block, k.inFile(), k.words()})
			}
		}
	}
	return all
}

// inFile is the key as the file writes it.
func (k key) inFile() string {
	name := k.path[strings.LastIndex(k.path, ".")+1:]
	if byPath[k.path].table == "limit" && (name == "lower" || name == "target" || name == "upper") {
		return fmt.Sprintf("%s_mm, %[1]s_deg or %[1]s_cents", name)
	}
	return name
}

// words say what a key holds: its meaning, unit, range and choices.
func (k key) words() string {
	parts := []string{k.label}
	of := byPath[k.path]
	if k.unit != "" {
		parts = append(parts, k.unit)
	}
	if k.high > k.low {
		parts = append(parts, show.Plain(k.low)+" to "+show.Plain(k.high))
	}
	switch {
	case of.box():
		parts = append(parts, "true or false")
	case len(k.choices) > 0 && k.choices[len(k.choices)-1].value == "no":
		parts = append(parts, "true or false")
	case len(k.choices) > 0:
		var quoted []string
		for _, c := range k.choices {
			if c.value != "" {
				quoted = append(quoted, fmt.Sprintf("%q", c.value))
			}
		}
		parts = append(parts, strings.Join(quoted, ", "))
	case of.boxes():
		parts = append(parts, "a list of texts")
	}
	if k.allowed != "" {
		parts = append(parts, k.allowed)
	}
	return strings.Join(parts, "; ")
}
