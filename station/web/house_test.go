package web

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// house is a station with a bench of its own, all of its pages and one person.
type house struct {
	*webtest.Shop
	bench *bench.Bench
}

func openHouse(t *testing.T, of batch.House) *house {
	t.Helper()
	s := webtest.Open(t)
	b := recordtest.Must(bench.New(t.Context(), bench.Options{Record: s.Rec}))(t)
	s.Handler = recordtest.Must(New(Options{Bench: b, Record: s.Rec, SignOn: webtest.NewSignOn(s), GaugesChanged: b.ReloadGauges, Folder: t.TempDir(), Station: "bench 1", Now: time.Now}))(t)
	h := &house{s, b}
	h.Post("/start/name", url.Values{"name": {"Mara Quill"}, "house": {string(of)}}, http.StatusSeeOther)
	return h
}

// pressed sends a command of the bench.
func (h *house) pressed(command string, form url.Values) {
	h.Helper()
	h.Post("/bench/"+command, form, http.StatusSeeOther)
}

// factoryWords are a factory's: no page that a builder reaches says them. What a check of a gauge ends with is no verdict.
var factoryWords = regexp.MustCompile(`(?i)\b(batch|batches|dispositions?|nonconforming|reject(s|ed|ion)?|concession|alarms?)\b`)

// verdictWords say how a neck was judged: on pages of instruments a builder has others.
var (
	verdictWords = regexp.MustCompile(`(?i)\b(pass|passed|fail|failed|failing)\b`)
	ofGauges     = regexp.MustCompile(`(?i)(leaf|leaves) that (passes|pass|does not pass|do not pass)|(thinnest|thickest) leaf that [a-z ]*pass(es)?|check (passed|failed)`)
	ofInstrument = regexp.MustCompile(`^/($|start|bench|instruments|necks)`)
)

var (
	unseenParts = regexp.MustCompile(`(?s)<(script|style)\b.*?</(script|style)>|<!--.*?-->`)
	tags        = regexp.MustCompile(`<[^>]*>`)
	spoken      = regexp.MustCompile(`(?:title|aria-label|placeholder|alt)="([^"]*)"`)
	links       = regexp.MustCompile(`<a [^>]*href="(/[^"#]*)`)
	anyFile     = regexp.MustCompile(`\.(pdf|xlsx|csv|toml|rules|json)$`)
)

// walk goes to every page that links lead to from where a builder begins, and returns what each says, by path.
func (h *house) walk() map[string]string {
	h.Helper()
	said := map[string]string{}
	ways := []string{"/", "/start", "/instruments", "/instruments/new"}
	for i := 0; i < len(ways); i++ {
		path := ways[i]
		if _, been := said[path]; been || anyFile.MatchString(strings.Split(path, "?")[0]) {
			continue
		}
		w := h.Do(webtest.Request(http.MethodGet, path, nil))
		if w.Code == http.StatusSeeOther {
			said[path], ways = "", append(ways, w.Header().Get("Location"))
			continue
		}
		if w.Code != http.StatusOK {
			h.Errorf("%s: status %d", path, w.Code)
		}
		page := unseenParts.ReplaceAllString(w.Body.String(), " ")
		for _, to := range links.FindAllStringSubmatch(page, -1) {
			ways = append(ways, html.UnescapeString(to[1]))
		}
		text := ""
		for _, m := range spoken.FindAllStringSubmatch(page, -1) {
			text += m[1] + " | "
		}
		said[path] = html.UnescapeString(text + strings.Join(strings.Fields(tags.ReplaceAllString(page, " ")), " "))
	}
	return said
}

// TestABuildersWords walks all pages that links lead to in a builder's house, at every turn of an instrument's visits: none says a factory's word.
func TestABuildersWords(t *testing.T) {
	h := openHouse(t, batch.Builder)
	told := map[string]bool{}
	look := func(when string) {
		t.Helper()
		pages := h.walk()
		for path, text := range pages {
			for _, words := range []*regexp.Regexp{factoryWords, verdictWords} {
				if words == verdictWords && !ofInstrument.MatchString(path) {
					continue
				}
				text := ofGauges.ReplaceAllString(text, "")
				for _, at := range words.FindAllStringIndex(text, -1) {
					line := text[max(0, at[0]-60):min(len(text), at[1]+60)]
					if key := strings.Split(path, "?")[0] + line; !told[key] {
						told[key] = true
						t.Errorf("%s, %s: … %s …", when, path, line)
					}
				}
			}
		}
		if len(pages) < 25 {
			t.Errorf("%s: only %d pages are reached", when, len(pages))
		}
	}
	look("on the first day")
	h.Post("/instruments/new", url.Values{"serial": {"A-7"}, "owner": {"Ida Marsh"}, "words": {"low, please"}, "with": {"leaves"}, "by": {"Mara Quill"}, "kind": {"electric-bolt-on"}}, http.StatusSeeOther)
	look("before the first reading")
	h.pressed("take", nil)
	h.pressed("leaf", url.Values{"rung": {"9"}})
	look("while it is measured")
	h.pressed("leaf", url.Values{"rung": {"9"}})
	if v := h.bench.Snapshot().Verdict; v == nil || v.Disposition != "pass" {
		t.Fatalf("verdict %+v", v)
	}
	look("when it is as wished")
	for _, page := range []string{"", "/necks", "/reasons", "/charts", "/limits", "/rework", "/people", "/audit", "/characteristics", "/doubt"} {
		h.Get("/batches/A-7%20visit%201"+page, http.StatusOK) // led to by nothing, and there
	}
	h.pressed("next", nil)
	look("when the bench is free")
	h.Post("/instruments/A-7/end", url.Values{"by": {"Mara Quill"}, "result": {"plays well"}}, http.StatusSeeOther)
	h.Post("/instruments/A-7/visit", url.Values{"by": {"Mara Quill"}, "words": {"it buzzes"}}, http.StatusSeeOther)
	h.pressed("take", nil)
	for range 2 {
		h.pressed("leaf", url.Values{"rung": {"16"}})
	}
	if v := h.bench.Snapshot().Verdict; v == nil || v.Disposition != "rework" {
		t.Fatalf("verdict %+v", v)
	}
	look("when it needs work")
	h.pressed("rework", url.Values{"what": {"truss rod"}, "direction": {"tighten"}, "sixteenths": {"2"}})
	look("when work is done")
	webtest.Wants(t, h.walk()["/"], "needs work")
}

// TestAFactorysWords: the same pages of a factory say what they always did.
func TestAFactorysWords(t *testing.T) {
	h := openHouse(t, "")
	all := strings.Join([]string{h.Get("/start", http.StatusOK), h.Get("/instruments", http.StatusOK), h.Get("/people", http.StatusOK)}, " ")
	for _, place := range []string{"/batches", "/alarms", "/trend", "/necks", "/specs"} {
		if !strings.Contains(all, `<a href="`+place+`"`) {
			t.Errorf("a factory is not led to %s", place)
		}
	}
	h.Post("/start/house", url.Values{"house": {"builder"}}, http.StatusSeeOther)
	page := h.Get("/start", http.StatusOK)
	for _, place := range []string{"/batches", "/alarms", "/trend", "/specs"} {
		if strings.Contains(page, `href="`+place) {
			t.Errorf("a builder is led to %s", place)
		}
		h.Get(place, http.StatusOK)
	}
}
