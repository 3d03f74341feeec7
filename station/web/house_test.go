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
var factoryWords = regexp.MustCompile(`(?i)\b(batch|batches|dispositions?|nonconforming|reject(s|ed|ion)?|concession|alarms?|quality managers?)\b`)

// verdictWords say how a neck was judged: on pages of instruments a builder has others.
var (
	verdictWords = regexp.MustCompile(`(?i)\b(pass|passed|fail|failed|failing|conforms?)\b`)
	ofGauges     = regexp.MustCompile(`(?i)(leaf|leaves) that (passes|pass|does not pass|do not pass)|(thinnest|thickest) leaf that [a-z ]*pass(es)?|check (passed|failed)`)
	ofInstrument = regexp.MustCompile(`^/($|start|bench|instruments|necks|record)`)
)

var (
	unseenParts = regexp.MustCompile(`(?s)<(script|style)\b.*?</(script|style)>|<!--.*?-->`)
	tags        = regexp.MustCompile(`<[^>]*>`)
	spoken      = regexp.MustCompile(`(?:title|aria-label|placeholder|alt)="([^"]*)"`)
	links       = regexp.MustCompile(`<a [^>]*href="(/[^"#]*)`)
	anyFile     = regexp.MustCompile(`\.(pdf|xlsx|csv|toml|rules|json)$`)
)

// factoryRefusals are words of a factory that no refusal of the bench says to a builder.
var factoryRefusals = regexp.MustCompile(`(?i)\b(attempts?|conforms?|rework|inspect(s|ed|ion|ions|or)?|(no|next) neck)\b`)

// numbered is an inspection's number, which it has in either house.
var numbered = regexp.MustCompile(`attempt \d+`)

// press is a command of the bench with its form.
type press struct {
	command string
	form    url.Values
}

// refused sends commands that the bench refuses as it is, and returns what each says, on the page that answers it and on the bench.
func (h *house) refused(presses ...press) map[string]string {
	h.Helper()
	said := map[string]string{}
	for _, p := range presses {
		r := webtest.Request(http.MethodPost, "/bench/"+p.command, strings.NewReader(p.form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("X-From", "module") // answered by the sentence alone
		w := h.Do(r)
		if w.Code < http.StatusBadRequest {
			h.Errorf("%s %v: status %d, want a refusal", p.command, p.form, w.Code)
		}
		said[p.command+" "+p.form.Encode()] = w.Body.String() + " | " + h.bench.Snapshot().Notice.Text
	}
	return said
}

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
	refuses := func(when string, presses ...press) {
		t.Helper()
		for of, text := range h.refused(presses...) {
			text = numbered.ReplaceAllString(text, "")
			for _, words := range []*regexp.Regexp{factoryWords, factoryRefusals} {
				for _, word := range words.FindAllString(text, -1) {
					t.Errorf("%s, %s: %q in: %s", when, of, word, text)
				}
			}
		}
		look(when + ", after refusals")
	}
	of := func(commands ...string) (presses []press) {
		for _, c := range commands {
			presses = append(presses, press{c, nil})
		}
		return presses
	}
	look("on the first day")
	refuses("on the first day", append(of("take", "undo", "moved", "whole", "skip", "use", "park", "again", "rework-back", "handed", "leave-study"),
		press{"entry", url.Values{"text": {"Z-9"}}}, press{"entry", url.Values{"text": {"0.25"}}}, press{"inspector", url.Values{"name": {"Nobody"}}},
		press{"decide", url.Values{"disposition": {"pass"}, "by": {"Mara Quill"}, "reason": {"plays"}}}, press{"rework", url.Values{"what": {"nut slots"}}}, press{"abandon", url.Values{"reason": {"tea"}}})...)
	h.Post("/instruments/new", url.Values{"serial": {"A-7"}, "owner": {"Ida Marsh"}, "words": {"low, please"}, "with": {"leaves"}, "by": {"Mara Quill"}, "kind": {"electric-bolt-on"}}, http.StatusSeeOther)
	look("before the first reading")
	recordtest.Must(h.Rec.AddPerson(t.Context(), "Mara Quill", "Joss Fenn", batch.Inspector))(t)
	h.pressed("take", nil)
	h.pressed("leaf", url.Values{"rung": {"9"}})
	look("while it is measured")
	refuses("while it is measured", append(of("again", "next", "leave-study", "abandon", "rework-back", "whole"),
		press{"entry", url.Values{"text": {"Z-9"}}}, press{"batch", url.Values{"number": {"A-7 visit 1"}}}, press{"rework", url.Values{"what": {"nut slots"}}},
		press{"decide", url.Values{"disposition": {"pass"}, "by": {"Mara Quill"}, "reason": {"plays"}}}, press{"handed", url.Values{"handed": {"left"}}})...)
	h.pressed("leaf", url.Values{"rung": {"9"}})
	if v := h.bench.Snapshot().Verdict; v == nil || v.Disposition != "pass" {
		t.Fatalf("verdict %+v", v)
	}
	look("when it is as wished")
	for _, page := range []string{"", "/necks", "/reasons", "/charts", "/limits", "/rework", "/people", "/audit", "/characteristics", "/doubt"} {
		h.Get("/batches/A-7%20visit%201"+page, http.StatusOK) // led to by nothing, and there
	}
	refuses("when it is as wished", append(of("take", "moved", "whole", "skip", "use", "park", "abandon", "handed", "leave-study"), press{"rework-back", url.Values{"id": {"none"}}},
		press{"choose", url.Values{"key": {"none"}}}, press{"entry", url.Values{"text": {"Z-9"}}})...)
	h.pressed("again", nil)
	refuses("when it is measured again", of("again", "next")...)
	h.pressed("abandon", url.Values{"reason": {"it was as wished"}})
	look("when it is given up")
	refuses("when it is given up", of("take", "undo", "park", "again")...)
	h.pressed("entry", url.Values{"text": {"A-7"}})
	h.pressed("take", nil)
	for range 2 {
		h.pressed("leaf", url.Values{"rung": {"9"}})
	}
	h.pressed("next", nil)
	look("when the bench is free")
	h.pressed("entry", url.Values{"text": {"A-7"}})
	look("when it comes once more")
	refuses("when it comes once more", of("take", "park", "again")...)
	h.pressed("discard", nil)
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
	refuses("when it needs work",
		press{"decide", url.Values{"disposition": {"pass"}, "by": {"Mara Quill"}, "reason": {"plays"}}}, press{"decide", url.Values{"disposition": {"concession"}, "by": {"Joss Fenn"}, "reason": {"plays"}}},
		press{"decide", url.Values{"disposition": {"fine"}, "by": {"Mara Quill"}, "reason": {"plays"}}}, press{"decide", url.Values{"disposition": {"concession"}, "by": {"Mara Quill"}}},
		press{"rework", url.Values{"what": {"paint"}}}, press{"rework", url.Values{"what": {"truss rod"}, "direction": {"up"}, "sixteenths": {"2"}}}, press{"rework", url.Values{"what": {"truss rod"}}})
	h.pressed("rework", url.Values{"what": {"truss rod"}, "direction": {"tighten"}, "sixteenths": {"2"}})
	look("when work is done")
	refuses("when work is done", press{"decide", url.Values{"disposition": {"scrap"}, "by": {"Mara Quill"}, "reason": {"cracked"}}})
	h.pressed("rework", url.Values{"what": {"truss rod"}, "direction": {"tighten"}, "sixteenths": {"2"}})
	refuses("when work is doubled", of("take", "again", "park")...)
	h.pressed("discard", nil)
	webtest.Wants(t, h.walk()["/"], "needs work")
	webtest.Wants(t, h.walk()["/record"], "Mara Quill did work on A-7: truss rod.", "A-7 was measured by Mara Quill, attempt 1: needs work.", "Mara Quill closed A-7 visit 1.",
		"Mara Quill kept the wishes of A-7, revision 1: low, please.", "Mara Quill entered Joss Fenn as helper.")
	webtest.Wants(t, h.Get("/record/trail.csv", http.StatusOK), ",Mara Quill did work on A-7: truss rod.,rework,")
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
