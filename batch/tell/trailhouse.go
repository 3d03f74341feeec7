package tell

import (
	"strings"

	"sagitta/batch"
)

// builderHappened are a builder's sentences, by the kinds of entries, where they are not the factory's; {result} is a verdict's detail in the house's words.
// A visit's number says whose visit it is, and that it is one. What only a factory does keeps its sentence: a record may have been a factory's before.
var builderHappened = map[string]string{
	"verdict": "{neck} was measured by {By}, attempt {attempt}: {result}",

	"rework":            "{By} did work on {neck}",
	"rework taken back": "{By} took back work on {neck}",

	"batch opened":     "{By} opened {batch}{note}",
	"batch closed":     "{By} closed {batch}",
	"necks registered": "{By} took the instrument of {batch} in{note}",
	"necks imported":   "{By} took old measurements into {batch}",
	"necks invented":   "{By} put invented instruments into {batch}",

	"specification added":    "{By} kept the wishes of {about}",
	"specification replaced": "{By} changed the wishes of {about}, by which nothing was measured yet",

	"alarm":              "The station said something{on}",
	"alarm acknowledged": "{By} acknowledged what the station said{on}",
}

// builderMatters are a builder's words for what entries are about, where they are not the factory's.
var builderMatters = map[batch.Matter]string{
	batch.OfVerdicts: "Results", batch.OfInspecting: "Measuring", batch.OfRework: "Work", batch.OfBatches: "Visits", batch.OfSpecs: "Wishes", batch.OfAlarms: "What the station said",
}

// happened is the sentence of a kind of entry.
func (w Words) happened(what string) (template string, known bool) {
	if template, known = builderHappened[what]; known && w.builder {
		return template, known
	}
	template, known = happened[what]
	return template, known
}

// resultOf is a verdict's detail, which begins with its disposition.
func (w Words) resultOf(detail string) string {
	disposition, reason, found := strings.Cut(detail, ", ")
	if found {
		return w.Say(disposition) + ", " + reason
	}
	return w.Say(disposition)
}

// Matters are what may be looked for in a house: single necks are not drawn from a lot.
func (w Words) Matters() (all []batch.Matter) {
	for _, m := range batch.Matters {
		if m != batch.OfAudits || !w.builder {
			all = append(all, m)
		}
	}
	return all
}
