// Package help is the pages that explain: what each characteristic is, how it is measured, what to do when it is out, each gauge, and
// what to do where a port does not open. The same pages, whole, on paper.
package help

import (
	"embed"
	"net/http"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/web/draw"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var pages embed.FS

// Mount puts the pages on the site.
func Mount(k *site.Site) error {
	g, err := k.Group("Help", pages, nil)
	if err != nil {
		return err
	}
	g.GET("/help", list)
	g.GET("/help/print", whole)
	g.GET(devices.HelpOnPorts, ports)
	g.GET("/help/proof", func(c *site.Request) error {
		return c.Show(http.StatusOK, "proof", "Proof that nothing was changed", tell.AnchorLimit)
	})
	g.GET("/help/sign-on", func(c *site.Request) error { return c.Show(http.StatusOK, "sign-on", "People and signing on", nil) })
	g.GET("/help/"+ruleFile, ruleAlone)
	g.GET("/help/:topic", one)
	return nil
}

// listPage is the list of all topics, or those that were looked for.
type listPage struct {
	Query    string
	Sentence string // what was found, "" where nothing was looked for
	Meant    string // a word near to one that is nowhere, "" for none
	Found    []topicView
	Groups   []groupView
}

// groupView is a group with its topics made ready.
type groupView struct {
	Title  string
	Topics []topicView
}

// topicView is a topic as its page shows it.
type topicView struct {
	Name, Title  string
	First        string   // its first sentence
	AtBench      string   // what the bench calls it, "" where that is its title
	Is, How, Out []string // see topic
	Defines      *draw.Figure
	Measures     *draw.Figure
	Kind         inspect.Kind
	Remedies     []remedyView
	Cautions     []string
	See          []seeView
}

// remedyView is what lies behind a value beyond a limit.
type remedyView struct {
	inspect.Remedy
	When string // "above the upper limit"
}

// seeView leads to another topic.
type seeView struct{ Name, Title string }

// viewOf makes a topic ready, its figures on the example's neck.
func viewOf(t topic) topicView {
	v := topicView{Name: t.Name, Title: t.heading(), AtBench: t.atBench(), First: firstSentence(t.Is), Is: t.Is, How: t.How, Out: t.Out, Kind: t.kind(), Cautions: t.cautions()}
	spec := draw.Example()
	if f := draw.Defines(t.Name, spec); f.SVG != "" {
		v.Defines = &f
	}
	if f := draw.Measures(t.Name, spec); f.SVG != "" {
		v.Measures = &f
	}
	all := t.remedies()
	for _, r := range all {
		when := "beyond either limit"
		if len(all) == 2 || t.kind().Width {
			when = show.Pick(r.Defect == t.kind().Above.Defect, "above the upper limit", "below the lower limit")
		}
		v.Remedies = append(v.Remedies, remedyView{r, when})
	}
	for _, name := range t.See {
		if o, ok := find(name); ok {
			v.See = append(v.See, seeView{name, o.heading()})
		}
	}
	return v
}

// allViews makes every topic ready.
func allViews() []groupView {
	var all []groupView
	for _, g := range groups() {
		one := groupView{Title: g.Title}
		for _, t := range g.Topics {
			one.Topics = append(one.Topics, viewOf(t))
		}
		all = append(all, one)
	}
	return all
}

// list shows all topics, or finds some.
func list(c *site.Request) error {
	p, err := search(c.Query("q"))
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "help", "Help", p)
}

// one shows a topic.
func one(c *site.Request) error {
	t, ok := find(c.Param("topic"))
	if !ok {
		return batch.Absent.Errorf("There is no help on %.80q; the page Help lists what there is.", c.Param("topic"))
	}
	return c.Show(http.StatusOK, "topic", t.heading(), viewOf(t))
}

// whole is all topics for paper, one to a page.
func whole(c *site.Request) error { return c.Show(http.StatusOK, "whole", "Help", allViews()) }
