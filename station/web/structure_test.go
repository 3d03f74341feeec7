package web

import (
	"encoding/xml"
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// outline is what a page is made of for somebody who cannot see it.
type outline struct {
	heads     []int // levels of its headings in order
	mains     int
	described map[string]bool // ids that labels or aria attributes point at, "for "+id
	ids       map[string]int
	fields    []string // fields without any label around or on them
	pointed   []string // ids that aria attributes name
	navs      []string
}

// outlineOf reads a page with the standard library's reader of XML, which accepts HTML when it is not strict.
func outlineOf(t *testing.T, page string) outline {
	t.Helper()
	o := outline{described: map[string]bool{}, ids: map[string]int{}}
	type field struct {
		id, words string
		named     bool
	}
	var fields []field
	var labels int
	d := xml.NewDecoder(strings.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("the page cannot be read: %v", err)
		}
		if end, is := token.(xml.EndElement); is && end.Name.Local == "label" {
			labels--
		}
		e, is := token.(xml.StartElement)
		if !is {
			continue
		}
		has := map[string]string{}
		for _, a := range e.Attr {
			has[a.Name.Local] = a.Value
		}
		if id := has["id"]; id != "" {
			o.ids[id]++
		}
		for _, name := range []string{"aria-describedby", "aria-labelledby", "aria-controls"} {
			o.pointed = append(o.pointed, strings.Fields(has[name])...)
		}
		switch name := e.Name.Local; name {
		case "h1", "h2", "h3", "h4", "h5", "h6":
			o.heads = append(o.heads, int(name[1]-'0'))
		case "main":
			o.mains++
		case "nav":
			o.navs = append(o.navs, has["aria-label"])
		case "label":
			labels++
			o.described[has["for"]] = true
		case "input", "select", "textarea":
			if has["type"] != "hidden" {
				fields = append(fields, field{has["id"], name + " " + has["name"], labels > 0 || has["aria-label"] != "" || has["aria-labelledby"] != ""})
			}
		}
	}
	for _, f := range fields {
		if !f.named && !o.described[f.id] {
			o.fields = append(o.fields, f.words)
		}
	}
	return o
}

// Every page has one main landmark, one heading of the first level which comes first, no level left out, named navigation,
// a label for every field, and no id twice or pointed at in vain (WCAG 2.2: 1.3.1, 2.4.6, 3.3.2, 4.1.2).
func TestEveryPageIsWellBuilt(t *testing.T) {
	s := openShop(t).fill()
	s.Passed("QM-2611-0021", "QM-2611-0022", "QM-2611-0023", "QM-2611-0024", "QM-2611-0025", "QM-2611-0026")
	audit := s.Post("/batches/QM-2611/audit", url.Values{"aql": {"6.5"}, "level": {"II"}, "severity": {"normal"}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	study := s.Post("/gauges/"+s.Gauge.ID+"/studies", url.Values{"kind": {"crossed"}, "about": {"blocks"}, "appraisers": {"Tove Aske", "Mara Quill"}, "trials": {"2"}, "parts": {"P1..P3"}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	pages := []struct {
		path   string
		status int
	}{
		{"/", 200}, {"/batches", 200}, {"/batches/QM-2611", 200}, {"/batches/QM-2611/audit", 200}, {audit, 200},
		{"/necks", 200}, {"/necks?q=QM-2611", 200}, {"/necks/QM-2611-0001", 200}, {"/necks/QM-2611-0001/story", 200},
		{"/necks/QM-2611-0001/explain?name=rocker&track=bass&fret=9", 0}, {"/callback", 200},
		{"/specs", 200}, {"/specs?example=yes", 200}, {"/specs/" + s.Spec.ID, 200}, {"/specs/" + s.Spec.ID + "/edit", 200}, {"/specs/" + s.Spec.ID + "/form", 200}, {"/specs/new", 200}, {"/specs/new?template=classical", 200}, {"/specs/compare?a=" + s.Spec.ID + "&b=" + s.Spec.ID, 200},
		{"/gauges", 200}, {"/gauges/new", 200}, {"/gauges/identify", 200}, {"/gauges/" + s.Gauge.ID, 200}, {"/gauges/" + s.Gauge.ID + "/studies/new", 200}, {study, 200},
		{"/trend", 200}, {"/trend/batches", 200}, {"/compare", 200}, {"/alarms", 200}, {"/people", 200}, {"/about", 200}, {"/help", 200}, {"/help?q=buzz", 200}, {"/help/relief", 200}, {"/help/ports", 200}, {"/help/print", 200}, {"/nowhere", 404}, {"/necks/QM-9", 404},
	}
	for _, p := range pages {
		t.Run(p.path, func(t *testing.T) {
			w := s.Do(webtest.Request(http.MethodGet, p.path, nil))
			if p.status != 0 && w.Code != p.status {
				t.Fatalf("status %d, want %d", w.Code, p.status)
			}
			o := outlineOf(t, w.Body.String())
			if o.mains != 1 {
				t.Errorf("%d main landmarks, want one", o.mains)
			}
			for i, level := range o.heads {
				if (level == 1) != (i == 0) {
					t.Errorf("levels of the headings: %v", o.heads)
					break
				}
				if i > 0 && level > o.heads[i-1]+1 {
					t.Errorf("a level is left out: %v", o.heads)
					break
				}
			}
			if len(o.heads) == 0 {
				t.Error("no heading")
			}
			if len(o.navs) == 0 || strings.Join(o.navs, "") == "" {
				t.Errorf("navigation without a name: %q", o.navs)
			}
			if len(o.fields) > 0 {
				t.Errorf("fields without a label: %q", o.fields)
			}
			for id, n := range o.ids {
				if n > 1 {
					t.Errorf("id %q stands %d times", id, n)
				}
			}
			for _, id := range o.pointed {
				if o.ids[id] == 0 {
					t.Errorf("nothing has the id %q that is pointed at", id)
				}
			}
		})
	}
}
