package draw

import (
	"html/template"
)

// shapes are the drawings of the states, 24 by 24, drawn in the text's colour: a state is never told by colour alone.
var shapes = map[string]string{
	"tick":     `<path d="M4 13l5 5L20 6" fill="none" stroke="currentColor" stroke-width="3.5"/>`,
	"wrench":   `<path d="M14.5 3.5a5.5 5.5 0 0 0-5 7.3L3.4 17a2.1 2.1 0 0 0 0 3 2.1 2.1 0 0 0 3 0l6.2-6.1a5.5 5.5 0 0 0 7.3-6.7l-3.2 3.2-3-.6-.6-3 3.3-3.2a5.4 5.4 0 0 0-1.9-.1z" fill="currentColor"/>`,
	"question": `<path d="M7.5 8.5a4.5 4.5 0 1 1 6.3 4.1c-1.3.6-1.8 1.4-1.8 2.9" fill="none" stroke="currentColor" stroke-width="3"/><circle cx="12" cy="20" r="2" fill="currentColor"/>`,
	"dash":     `<path d="M4 12h16" stroke="currentColor" stroke-width="3.5" opacity=".6"/>`,
	"loop":     `<path d="M19 12a7 7 0 1 1-2.2-5.1" fill="none" stroke="currentColor" stroke-width="3"/><path d="M20.5 2.5v6h-6z" fill="currentColor"/>`,
	"cross":    `<path d="M5 5l14 14M19 5L5 19" stroke="currentColor" stroke-width="3.5"/>`,
	"hand":     `<path d="M12 3v11M12 3l-4 4M12 3l4 4M5 14v6h14v-6" fill="none" stroke="currentColor" stroke-width="3"/>`,
	"broken":   `<path d="M2 12h6l2.5-6M22 12h-6l-2.5 6" fill="none" stroke="currentColor" stroke-width="3.5"/>`,
	"bell":     `<path d="M5 18c2-2 2-4 2-7a5 5 0 0 1 10 0c0 3 0 5 2 7z" fill="none" stroke="currentColor" stroke-width="3"/><circle cx="12" cy="21" r="2" fill="currentColor"/>`,
}

// StateOf maps every state, disposition and gauge health word to its shape and its colour class.
var StateOf = map[string][2]string{
	"conforming":    {"tick", "conforming"},
	"pass":          {"tick", "conforming"},
	"live":          {"tick", "conforming"},
	"passed":        {"tick", "conforming"},
	"waiting":       {"tick", "conforming"},
	"nonconforming": {"wrench", "nonconforming"},
	"rework":        {"wrench", "nonconforming"},
	"repair":        {"wrench", "nonconforming"},
	"failed":        {"cross", "nonconforming"},
	"scrap":         {"cross", "nonconforming"},
	"concession":    {"hand", "undecided"},
	"undecided":     {"question", "undecided"},
	"remeasure":     {"question", "undecided"},
	"locked out":    {"broken", "undecided"},
	"low battery":   {"broken", "undecided"},
	"silent":        {"broken", "undecided"},
	"garbled":       {"broken", "undecided"},
	"in doubt":      {"loop", "doubt"},
	"held":          {"loop", "doubt"},
	"unplugged":     {"broken", "nonconforming"},
	"missing":       {"broken", "nonconforming"},
	"busy":          {"broken", "nonconforming"},
	"denied":        {"broken", "nonconforming"},
	"alike":         {"question", "undecided"},
	"alarm":         {"bell", "undecided"},
}

// stateClass is a state's colour class; what is not known, not measured or without limit is grey.
func stateClass(word string) string {
	if s, ok := StateOf[word]; ok {
		return s[1]
	}
	return "unmeasured"
}

// shapePath is the drawing of a state inside an SVG.
func shapePath(word string) template.HTML {
	name := "dash"
	if s, ok := StateOf[word]; ok {
		name = s[0]
	}
	return template.HTML(shapes[name])
}

// StateShape draws a state's shape as a small picture in a line of text; the word stands beside it.
func StateShape(word string) template.HTML {
	return template.HTML(`<svg class="shape `+stateClass(word)+`" viewBox="0 0 24 24" width="1em" height="1em" aria-hidden="true">`) +
		shapePath(word) + template.HTML(`</svg>`)
}
