package help

import (
	"go/ast"
	"go/parser"
	"go/token"
	"html"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/station/web/show"
	"sagitta/station/web/webtest"
)

// TestEverythingMeasuredHasHelp: each characteristic of the catalogue and each kind of reading has a page, with figures, steps, words by
// which it is found, a caution, and other pages that are there; no page stands twice.
func TestEverythingMeasuredHasHelp(t *testing.T) {
	for _, k := range inspect.Catalogue() {
		if v, ok := find(k.Name); !ok || viewOf(v).Defines == nil || viewOf(v).Measures == nil {
			t.Errorf("%s has no page, or not both figures", k.Name)
		}
	}
	for _, k := range kindsOfReading(t) {
		if name := show.HelpOnReading(k); name == "" {
			t.Errorf("readings of the kind %q have no page", k)
		} else if v, ok := find(name); !ok || viewOf(v).Measures == nil {
			t.Errorf("the page of %q, %q, is not there or has no figure of how it is measured", k, name)
		}
	}
	for _, k := range batch.GaugeKinds {
		if v, ok := find(show.HelpOnGauge(k)); !ok || viewOf(v).Measures == nil {
			t.Errorf("gauges of the kind %q have no page, or no figure of how it is used", k)
		}
	}
	seen := map[string]bool{}
	for _, g := range groups() {
		for _, topic := range g.Topics {
			v := viewOf(topic)
			if seen[v.Name] {
				t.Errorf("%s stands twice", v.Name)
			}
			seen[v.Name] = true
			if len(v.Is) == 0 || len(v.How) == 0 || len(topic.Also) == 0 || v.Measures == nil || !slices.Contains(v.Cautions, inspect.CautionPerson) || v.Title == "" {
				t.Errorf("%s is not whole: %+v", v.Name, topic)
			}
			if len(v.See) != len(topic.See) || len(v.See) == 0 {
				t.Errorf("%s leads to %q, of which %d are there", v.Name, topic.See, len(v.See))
			}
		}
	}
}

// kindsOfReading are the constants of batch.Kind, read from where they stand.
func kindsOfReading(t *testing.T) []batch.Kind {
	t.Helper()
	file, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", "..", "..", "batch", "inspection.go"), nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var all []batch.Kind
	ast.Inspect(file, func(n ast.Node) bool {
		if v, ok := n.(*ast.ValueSpec); ok {
			if of, ok := v.Type.(*ast.Ident); ok && of.Name == "Kind" {
				word, err := strconv.Unquote(v.Values[0].(*ast.BasicLit).Value)
				if err != nil {
					t.Fatal(err)
				}
				all = append(all, batch.Kind(word))
			}
		}
		return true
	})
	if !slices.Contains(all, batch.Crown) || len(all) < 12 {
		t.Fatalf("only %q are found", all)
	}
	return all
}

// TestRemediesStandWithTheirLimit: what helps is told with the limit that the value is beyond, as the catalogue has it.
func TestRemediesStandWithTheirLimit(t *testing.T) {
	for name, want := range map[string]map[string]string{
		inspect.Relief: {"above the upper limit": "over-bow", "below the lower limit": "back-bow"},
		inspect.Rocker: {"above the upper limit": "high fret", "below the lower limit": "low fret"},
		inspect.Twist:  {"beyond either limit": "twist"},
		inspect.Hump:   {"above the upper limit": "hump at the joint"},
	} {
		topic, _ := find(name)
		got := map[string]string{}
		for _, r := range viewOf(topic).Remedies {
			got[r.When] = r.Defect
		}
		if len(got) != len(want) {
			t.Errorf("%s: %v, want %v", name, got, want)
		}
		for when, defect := range want {
			if got[when] != defect {
				t.Errorf("%s %s: %q, want %q", name, when, got[when], defect)
			}
		}
	}
}

// TestSearchByTheTradesWords: what people call things leads to the page first.
func TestSearchByTheTradesWords(t *testing.T) {
	for query, want := range map[string]string{
		"bow":                    inspect.Relief,
		"backbow":                inspect.Relief,
		"Back-Bow":               inspect.Relief,
		"gap at the 7th":         inspect.Relief,
		"relief":                 inspect.Relief,
		"string height":          inspect.Action,
		"action":                 inspect.Action,
		"high fret":              inspect.LevelDeviation,
		"three-fret check":       inspect.Rocker,
		"winding sticks":         inspect.Twist,
		"nut slots":              inspect.NutHeight,
		"buzz":                   inspect.LeastClearance,
		"feeler gauge":           show.HelpOnLeaves,
		"straightedge with dial": show.HelpOnBeam,
		"locked out":             show.HelpOnCheck,
		"moved":                  show.HelpOnLaying,
		"quarter turn":           show.HelpOnRod,
		"tuner":                  inspect.Pitch,
		"pedal":                  show.HelpOnFootSwitch,
		"ski jump":               inspect.Hump,
		"run of the frets":       inspect.Straightness,
		"tuning":                 inspect.Pitch,
		"camber":                 inspect.BoardRadius,
	} {
		p, err := search(query)
		if err != nil || len(p.Found) == 0 {
			t.Errorf("%q finds nothing: %v", query, err)
			continue
		}
		if p.Found[0].Name != want {
			t.Errorf("%q finds %s first, want %s", query, p.Found[0].Name, want)
		}
	}
	if p, _ := search("relif"); p.Meant != "relief" || len(p.Groups) == 0 {
		t.Errorf("a slip of the keys: %q, %d groups", p.Meant, len(p.Groups))
	}
	if p, _ := search("relief of the banjo"); len(p.Found) == 0 || !strings.Contains(p.Sentence, "No page has all of these words") {
		t.Errorf("words of which some are nowhere: %q", p.Sentence)
	}
}

// TestHelpPages gets every page: the list, each topic, all of it for paper, ports with the rule; and what is not there.
func TestHelpPages(t *testing.T) {
	s := webtest.Open(t).Mount(Mount)
	whole := s.Get("/help/print", http.StatusOK)
	first := s.Get("/help", http.StatusOK)
	for _, g := range groups() {
		for _, topic := range g.Topics {
			v := viewOf(topic)
			page := s.Get("/help/"+v.Name, http.StatusOK)
			for _, of := range [][]string{v.Is, v.How, v.Out, v.Cautions, {v.Measures.Words, string(v.Measures.SVG), ">" + v.Title + "</h"}} {
				for _, text := range of {
					escaped := text
					if !strings.HasPrefix(text, "<") {
						escaped = html.EscapeString(text)
					}
					for where, in := range map[string]string{v.Name: page, "on paper": whole} {
						if !strings.Contains(in, text) && !strings.Contains(in, escaped) {
							t.Errorf("%s, %s, lacks %q", v.Name, where, text)
						}
					}
				}
			}
			webtest.Wants(t, first, `href="/help/`+v.Name+`"`)
		}
	}
	webtest.Wants(t, s.Get("/help?q=buzz", http.StatusOK), "about “buzz”", `value="buzz"`, `href="/help/clearance"`)
	webtest.Wants(t, s.Get("/help?q="+url.QueryEscape(`"><script>`), http.StatusOK), "No page is about", "&lt;script&gt;")
	webtest.Wants(t, s.Get("/help?q="+strings.Repeat("a", 101), http.StatusUnprocessableEntity), "101 characters; at most 100")
	webtest.Wants(t, s.Get("/help/banjo", http.StatusNotFound), "There is no help on")
	webtest.Wants(t, s.Get("/help/proof", http.StatusOK), html.EscapeString(tell.AnchorLimit))
	webtest.Wants(t, first, `href="/help/proof"`)
	webtest.Wants(t, s.Get(devices.HelpOnPorts, http.StatusOK), "usermod -aG dialout", "/etc/udev/rules.d/"+ruleFile, html.EscapeString("The port is in use"))
	if got := s.Get("/help/"+ruleFile, http.StatusOK); got != rule {
		t.Errorf("the rule as a file: %q", got)
	}
}
