package tell

import (
	"fmt"

	"sagitta/batch"
	"sagitta/inspect"
)

// Words are what a house calls the things that it has, where houses differ: a builder keeps one instrument after another, and nothing of his is a
// batch or nonconforming. The zero value is a factory's.
type Words struct{ builder bool }

// WordsOf are the words of a house.
func WordsOf(h batch.House) Words { return Words{h == batch.Builder} }

// Builder says that the words are a builder's.
func (w Words) Builder() bool { return w.builder }

// builders are a builder's words, by the factory's.
var builders = map[string]string{
	"batch":         "visit",
	"batches":       "visits",
	"disposition":   "result",
	"specification": "wishes",
	"inspector":     "who measures",
	"verdict":       "number",

	"a neck, a batch or a person came":              "an instrument or a person came",
	"the neck passed, or is released by concession": "the instrument is as wished",
	"quality manager: opens and closes batches, releases specifications, grants concessions, changes what readings are judged by": "quality manager: keeps instruments and their visits, changes what readings are judged by",

	"Next neck":     "Next instrument",
	"Record rework": "Record work",
	"Inspect again": "Measure again",

	string(inspect.Conforming):    "as wished",
	string(inspect.Nonconforming): "not as wished",
	string(inspect.Undecided):     "too near to say",

	string(inspect.Pass):       "set up as wished",
	string(inspect.Rework):     "needs work",
	string(inspect.Repair):     "needs more than a set-up",
	string(inspect.Scrap):      "not worth the work",
	string(inspect.Concession): "left as it is",
	string(inspect.Remeasure):  "measure again",
}

// Say is the house's word for a thing, by the factory's word: a text, or what is written as one.
func (w Words) Say(word any) string {
	text := fmt.Sprint(word)
	if own, there := builders[text]; there && w.builder {
		return own
	}
	return text
}

// House says for whom the record is kept.
func (w Words) House() string {
	if w.builder {
		return "This record is kept for a builder: one instrument after another, each over its life."
	}
	return "This record is kept for a factory: batches of necks, alarms and trends over all of them."
}

// Instead offers the other house.
func (w Words) Instead() string {
	if w.builder {
		return "Keep it for a factory"
	}
	return "Keep it for a builder"
}

// FirstSteps says how many steps there are before anything is measured.
func FirstSteps(steps int, w Words) string {
	return map[int]string{4: "Four", 5: "Five"}[steps] + " steps to the first " + w.Say("verdict") + ". Nothing here needs a file."
}
