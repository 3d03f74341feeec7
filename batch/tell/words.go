package tell

import (
	"fmt"
	"regexp"
	"strings"

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
	"quality manager: opens and closes batches, releases specifications, grants concessions, changes what readings are judged by": "builder: keeps instruments and their visits, changes what readings are judged by",

	"an inspection": "a measurement",
	"the inspector": "who measures",
	"its rework":    "its work",
	"rework step":   "work",
	"no neck":       "no instrument",

	"passed":                     "was set up as wished",
	"was released by concession": "was left as it is",
	"was judged scrap":           "was found not worth the work",

	// What the bench refuses, and what it says to do.
	"no batch is open on the bench":                                                                "no instrument is on the bench",
	"no neck is on the bench":                                                                      "no instrument is on the bench",
	"whether %s is inspected again is asked":                                                       "whether %s is measured again is asked",
	"scan the next neck, or inspect this one again (F6)":                                           "scan the next instrument, or measure this one again (F6)",
	"scan the next neck, or inspect it again (F6)":                                                 "scan the next instrument, or measure it again (F6)",
	"nothing is left to take; scan the next neck":                                                  "nothing is left to take; scan the next instrument",
	"inspect it again (F6) where it was moved too early":                                           "measure it again (F6) where it was moved too early",
	"inspect it again (F6), then have everything measured":                                         "measure it again (F6), then have everything measured",
	"answer it first: F3 inspects it again, F2 leaves it as it is":                                 "answer it first: F3 measures it again, F2 leaves it as it is",
	"this attempt goes on":                                                                         "that goes on",
	"rework is recorded against a verdict: finish this inspection first":                           "work is recorded against a verdict: finish this measurement first",
	"rework is recorded against a verdict: decide first":                                           "work is recorded against a verdict: decide first",
	"no rework step is recorded since its verdict":                                                 "no work is recorded since its verdict",
	"%s is measured whole already: nothing is carried over from an attempt before":                 "%s is measured whole already: nothing is carried over from before",
	"leave it before a neck is measured":                                                           "leave it before an instrument is measured",
	"No rework step is recorded since the verdict.":                                                "No work is recorded since the verdict.",
	"Inspect the neck again when it has settled (F6).":                                             "Measure it again when it has settled (F6).",
	"%s has no such rework step that could be taken back: it can until the neck is measured again": "%s has no such work that could be taken back: it can until it is measured again",
	"rework is recorded on %s since this verdict: inspect it again (F6) before anybody decides":    "work is recorded on %s since this verdict: measure it again (F6) before anybody decides",
	"%s does not conform: releasing it is a concession, not a pass":                                "%s is not as wished: it may be left as it is, but is not set up as wished",
	"a concession is granted by a quality manager; %s is entered as %s":                            "that it is left as it is is decided by a builder; %s is entered as %s",
	"%q is no disposition; allowed are pass, rework, repair, scrap and concession":                 "%q is no result; choose one of those on the page",
	"%s %s at %s, attempt %d%s, and needs no further inspection. Begin attempt %d?":                "%s %s at %s, attempt %d%s, and needs nothing more. Begin attempt %d?",

	string(batch.Measure):     "measure and record work",
	string(batch.OpenBatch):   "open visits",
	string(batch.Concede):     "leave an instrument as it is",
	string(batch.CloseBatch):  "end a visit",
	string(batch.Acknowledge): "acknowledge what the station says",

	"inspector: measures and records rework":                                           "helper: measures and records work",
	"Nobody is on file yet. Add the first person: a quality manager can open a batch.": "Nobody is on file yet. Add the first person: a builder can do all.",
	"repairer: does what an inspector may not":                                         "repairer: does what a helper may not",

	"A person decides":  "You decide",
	"Not inspected yet": "Not measured yet",
	"Next neck":         "Next instrument",
	"Record rework":     "Record work",
	"Inspect again":     "Measure again",

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

// conforming are the words of results about limits; builders say them otherwise.
var conforming = []struct {
	factory *regexp.Regexp
	builder string
}{
	{regexp.MustCompile(`(?i)(all) (\d+) limited values conform`), "$1 $2 values that are limited are as wished"},
	{regexp.MustCompile(`(\d+ more values?) (does|do) not conform`), "$1 not as wished"},
	{regexp.MustCompile(`(\d+) more out of limits`), "$1 more not as wished"},
	{regexp.MustCompile(`does not conform`), "is not as wished"},
	{regexp.MustCompile(`the true value conforms`), "the true value is as wished"},
}

// Result says in the house's words what a sentence says of a result.
func (w Words) Result(text string) string {
	if w.builder {
		for _, c := range conforming {
			text = c.factory.ReplaceAllString(text, c.builder)
		}
	}
	return text
}

// builderRoles are a builder's words for people's roles, where they are not the factory's.
var builderRoles = strings.NewReplacer(string(batch.QualityManager), "builder", "an "+string(batch.Inspector), "a helper", string(batch.Inspector), "helper")

// Role names what somebody is, in a house.
func (w Words) Role(r batch.Role) string { return w.roles(string(r)) }

// Takes names who has a right, as in "this takes a quality manager".
func (w Words) Takes(r batch.Right) string { return w.roles(r.Takes()) }

func (w Words) roles(text string) string {
	if w.builder {
		return builderRoles.Replace(text)
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
