package web

import (
	"html/template"

	"sagitta/inspect"
)

// pageFuncs are what the templates of some pages call.
func pageFuncs() template.FuncMap {
	return template.FuncMap{
		"kilobytes": func(bytes int) int { return (bytes + 999) / 1000 },
		"dispositions": func() []string {
			return []string{string(inspect.Pass), string(inspect.Rework), string(inspect.Repair), string(inspect.Remeasure), string(inspect.Scrap), string(inspect.Concession)}
		},
	}
}
