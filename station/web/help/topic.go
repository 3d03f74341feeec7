package help

import (
	"slices"

	"sagitta/batch/tell"
	"sagitta/inspect"
)

// topic is one page of help: what something is, how it is measured or used, and what to do when it is out.
type topic struct {
	Name  string   // in its address: a characteristic's name, or a gauge's
	Title string   // "" for a characteristic, which has the catalogue's
	Also  []string // other words by which it is looked for
	Is    []string // paragraphs
	How   []string // steps
	Out   []string // sentences, beside what the catalogue says of a characteristic
	See   []string // names of other topics
	Step  string   // of rework whose cautions belong to it, "" for the characteristic's
}

// group is a heading of the list of topics with what stands under it.
type group struct {
	Title  string
	Topics []topic
}

// groups are all topics, in the order of the list and of the printed whole.
func groups() []group {
	return []group{{"Bow and rod", bowTopics()}, {"Level of the frets", levelTopics()}, {"Across the board", boardTopics()}, {"Strings", stringTopics()}, {"Gauges and their use", gaugeTopics()}}
}

// find returns the topic of a name; ok is false where there is none.
func find(name string) (t topic, ok bool) {
	for _, g := range groups() {
		if i := slices.IndexFunc(g.Topics, func(t topic) bool { return t.Name == name }); i >= 0 {
			return g.Topics[i], true
		}
	}
	return topic{}, false
}

// heading is a topic's title.
func (t topic) heading() string {
	if t.Title != "" {
		return t.Title
	}
	return tell.Upper(inspect.Name(t.Name))
}

// atBench is what the bench calls a characteristic, "" where that is its title, and for what is none.
func (t topic) atBench() string {
	if word := tell.Worker(inspect.Characteristic{Name: t.Name}); t.kind().Name != "" && tell.Upper(word) != t.heading() {
		return word
	}
	return ""
}

// names are the words by which a topic is looked for.
func (t topic) names() []string { return append([]string{t.heading(), t.atBench()}, t.Also...) }

// kind is the catalogue's entry of a topic, the zero Kind for one that is no characteristic.
func (t topic) kind() inspect.Kind { return inspect.KindOf(t.Name) }

// remedies are what lies behind a value beyond either limit and what helps, each once.
func (t topic) remedies() []inspect.Remedy {
	var all []inspect.Remedy
	for _, r := range []inspect.Remedy{t.kind().Above, t.kind().Below} {
		if r.Defect != "" && !slices.ContainsFunc(all, func(o inspect.Remedy) bool { return o.Defect == r.Defect }) {
			all = append(all, r)
		}
	}
	return all
}

// cautions are those of the step of rework that a topic leads to.
func (t topic) cautions() []string {
	if t.Step != "" {
		return inspect.CautionsOf(t.Step)
	}
	return inspect.CautionsOf(t.kind().Step)
}
