package web

import (
	"html/template"
)

// pageFuncs are what the templates of some pages call.
func pageFuncs() template.FuncMap {
	return template.FuncMap{
		"kilobytes": func(bytes int) int { return (bytes + 999) / 1000 },
	}
}
