package bench

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/draw"
	"sagitta/station/web/webtest"
)

func contains(page, text string) bool { return strings.Contains(page, text) }

// TestCommands sends every form of the bench page and looks at what reached the bench.
func TestCommands(t *testing.T) {
	b, s := storybook(t)
	for _, c := range []struct {
		path string
		form url.Values
		want string
	}{
		{"batch", url.Values{"number": {"QM-2611"}}, "batch QM-2611"},
		{"inspector", url.Values{"name": {"Mara Quill"}}, "inspector Mara Quill"},
		{"climate", url.Values{"temperature": {"21,5"}, "humidity": {"47"}}, "climate 21.5 47"},
		{"entry", url.Values{"text": {".012in"}}, `entry ".012in" mm`},
		{"take", nil, "take"}, {"undo", nil, "undo"}, {"skip", nil, "skip"}, {"moved", nil, "moved"}, {"rework-back", url.Values{"id": {"r1"}}, "take back r1"}, {"again", nil, "again"}, {"next", nil, "clear"},
		{"choose", url.Values{"key": {"crown/bass/7"}}, "choose crown/bass/7"},
		{"use", nil, "use true"}, {"discard", nil, "use false"},
		{"park", url.Values{"reason": {"settling"}}, "park settling"},
		{"decide", url.Values{"disposition": {"concession"}, "by": {"Tove Aske"}, "reason": {"the player wants it low"}}, "decide concession, Tove Aske: the player wants it low"},
		{"rework", url.Values{"what": {"truss rod"}, "direction": {"tighten"}, "sixteenths": {"3"}}, "rework truss rod tighten 0.1875 turn 0.0000 mm"},
		{"check", url.Values{"gauge": {"g1"}}, "check g1"}, {"cancel-check", nil, "cancel check"},
		{"demo/press", nil, "press"}, {"demo/neck", nil, "measure"}, {"demo/unattended", nil, "unattended"}, {"demo/stop", nil, "stop"},
		{"demo/pull", url.Values{"gauge": {"g1"}}, "pull g1"}, {"demo/plug", url.Values{"gauge": {"g1"}}, "plug g1"},
	} {
		if to := s.Post("/bench/"+c.path, c.form, http.StatusSeeOther); to != "/" {
			t.Errorf("%s leads to %q, want the bench", c.path, to)
		}
		if got := b.noted(); !slices.Equal(got, []string{c.want}) {
			t.Errorf("%s: the bench got %q, want %q", c.path, got, c.want)
		}
	}
}

// TestCommandsSayWhatWasSeen: every form of the page carries the inspection and the scene that it shows, and a command without them, of
// another program, is held to nothing.
func TestCommandsSayWhatWasSeen(t *testing.T) {
	b, s := storybook(t)
	snap := decided(s, crowned{relief: 0.46})
	snap.Scene = 41
	b.show(snap)
	page := s.Get("/", http.StatusOK)
	fields := `<input type="hidden" name="inspection" value="` + snap.Inspection.ID + `"><input type="hidden" name="scene" value="41">`
	forms := strings.Count(page, `action="/bench/`)
	if n := strings.Count(page, fields); n != forms || forms < 8 {
		t.Errorf("%d of %d forms say what was seen", n, forms)
	}
	want := bench.Seen{Inspection: "one", Scene: 41, At: time.UnixMilli(1000)}
	for _, path := range []string{"take", "demo/neck", "typed"} {
		b.saw = bench.Seen{}
		req := webtest.Request(http.MethodPost, "/bench/"+path, strings.NewReader("inspection=one&scene=41&at=1000&text=x&end=Enter"))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		s.Do(req)
		if b.saw != want {
			t.Errorf("%s: the bench is told %+v", path, b.saw)
		}
	}
	b.noted()
	webtest.Wants(t, s.Post("/bench/take", url.Values{"scene": {"last"}}, http.StatusUnprocessableEntity), "is none of the bench")
	webtest.Wants(t, s.Post("/bench/take", url.Values{"at": {"noon"}}, http.StatusUnprocessableEntity), "not in milliseconds")
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q", got)
	}
}

// TestWrongFieldsReachNothing sends what cannot be read: the bench must not hear of it.
func TestWrongFieldsReachNothing(t *testing.T) {
	b, s := storybook(t)
	for _, c := range []struct {
		path string
		form url.Values
		want string
	}{
		{"climate", url.Values{"temperature": {"warm"}}, "&#34;warm&#34; is not a number"},
		{"climate", url.Values{"humidity": {"NaN"}}, "is not a number"},
		{"rework", url.Values{"what": {"truss rod"}}, "how far it was turned is missing"},
		{"rework", url.Values{"what": {"nut slots"}, "string": {"-2"}}, "is not a whole number"},
		{"rework", url.Values{"what": {"nut slots"}, "amount": {"1e999"}}, "is not a number"},
	} {
		webtest.Wants(t, s.Post("/bench/"+c.path, c.form, http.StatusUnprocessableEntity), c.want)
		if got := b.noted(); len(got) > 0 {
			t.Errorf("%s %v reached the bench: %q", c.path, c.form, got)
		}
	}
}

// TestRefusalIsASentence looks at both answers to a refused command: a page for a plain form, the sentence for the module.
func TestRefusalIsASentence(t *testing.T) {
	b, s := storybook(t)
	b.refusal = batch.Conflict.Errorf("no neck is on the bench: scan or type its serial number")
	webtest.Wants(t, s.Post("/bench/take", nil, http.StatusConflict), "No neck is on the bench: scan or type its serial number.", `<nav aria-label="Pages">`)
	req := webtest.Request(http.MethodPost, "/bench/take", nil)
	req.Header.Set("X-From", "module")
	w := s.Do(req)
	if got, want := w.Body.String(), "No neck is on the bench: scan or type its serial number."; w.Code != http.StatusConflict || got != want {
		t.Errorf("the module gets %d %q, want 409 %q", w.Code, got, want)
	}
	b.refusal = nil
	if w := s.Do(req); w.Code != http.StatusNoContent {
		t.Errorf("the module gets %d, want 204", w.Code)
	}
}

// TestOtherSitesCannotCommand sends a command as another site's page would.
func TestOtherSitesCannotCommand(t *testing.T) {
	b, s := storybook(t)
	for header, value := range map[string]string{"Sec-Fetch-Site": "cross-site", "Origin": "https://elsewhere.example"} {
		req := webtest.Request(http.MethodPost, "/bench/take", nil)
		req.Header.Set(header, value)
		if w := s.Do(req); w.Code != http.StatusForbidden {
			t.Errorf("%s %s: status %d, want 403", header, value, w.Code)
		}
	}
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q", got)
	}
}

// TestCutOffFormsReachNothing sends more than a page may, and a form with a mistake in its encoding: what was cut off must
// not pass for an empty field.
func TestCutOffFormsReachNothing(t *testing.T) {
	b, s := storybook(t)
	for _, c := range []struct {
		body   string
		status int
		want   string
	}{
		{"text=" + strings.Repeat("0", 4<<20), http.StatusRequestEntityTooLarge, "What was sent is longer than 4 MB"},
		{"text=%zz", http.StatusBadRequest, "What was sent is not a whole form"},
	} {
		for _, path := range []string{"/bench/entry", "/bench/take", "/people", "/unit"} {
			for _, from := range []string{"", "module"} {
				req := webtest.Request(http.MethodPost, path, strings.NewReader(c.body))
				req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				req.Header.Set("X-From", from)
				w := s.Do(req)
				if w.Code != c.status || !contains(w.Body.String(), c.want) || contains(w.Body.String(), "<html") != (from == "") {
					t.Errorf("%s from %q: %d, %.200s", path, from, w.Code, w.Body)
				}
			}
		}
	}
	if got := b.noted(); len(got) > 0 {
		t.Errorf("the bench got %q", got)
	}
}

// TestPlainFormsOpenInlineForms presses the two keys that show a form, as a browser without scripts does.
func TestPlainFormsOpenInlineForms(t *testing.T) {
	b, s := storybook(t)
	b.show(decided(s, crowned{relief: 0.46}))
	for key, form := range map[string]string{"show-rework": "rework-form", "show-decide": "decide-form"} {
		if to := s.Post("/bench/"+key, nil, http.StatusSeeOther); to != "/#"+form {
			t.Errorf("%s leads to %q, want the form", key, to)
		}
		webtest.Wants(t, s.Get("/", http.StatusOK), `<noscript>`, `id="`+form+`"`)
	}
}

// TestNoWorkIsPreselectedWhereNoneIsAdvised: the form offers the advised work, and what can be left out of it, only where work was advised.
func TestNoWorkIsPreselectedWhereNoneIsAdvised(t *testing.T) {
	b, s := storybook(t)
	const asAdvised, choose = "where it was done as advised", `<option value="">choose</option><option value="pitch">`
	b.show(decided(s, crowned{relief: 0.46}))
	page := s.Get("/", http.StatusOK)
	webtest.Wants(t, page, asAdvised, `<option value="truss rod" selected>`)
	if strings.Contains(page, choose) {
		t.Error("the advised work is to be chosen")
	}
	b.show(decided(s, crowned{relief: 0.3}))
	page = s.Get("/", http.StatusOK)
	webtest.Wants(t, page, choose, "An amount is what is taken off a crown")
	if strings.Contains(page, asAdvised) {
		t.Error("the form says how to record what was advised, and nothing was")
	}
}

// TestUnitSwitch turns the page to inches; 1 in is 25.4 mm exactly (international yard and pound agreement, 1959).
func TestUnitSwitch(t *testing.T) {
	b, s := storybook(t)
	snap := measuring(s, crowned{relief: 0.3}, 30)
	snap.Live.MM = -2.54
	b.show(snap)
	req := webtest.Request(http.MethodPost, "/unit", strings.NewReader("unit=in&back=/"))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	cookies := s.Do(req).Result().Cookies()
	if len(cookies) != 1 || cookies[0].Value != "in" {
		t.Fatalf("cookies %v", cookies)
	}
	req = webtest.Request(http.MethodGet, "/", nil)
	req.AddCookie(cookies[0])
	webtest.Wants(t, s.Do(req).Body.String(), "−0.1000", `<span class="unit">in</span>`, "in above the chord")
	webtest.Wants(t, s.Get("/", http.StatusOK), "−2.540", `<span class="unit">mm</span>`)
	// A window that still shows millimetres types millimetres, whatever another window has switched to.
	webtest.Wants(t, s.Get("/", http.StatusOK), `name="shown-in" value="mm"`)
	for shown, want := range map[string]string{"&shown-in=mm": "mm", "&shown-in=in": "in", "": "in"} {
		req = webtest.Request(http.MethodPost, "/bench/entry", strings.NewReader("text=0.25"+shown))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.AddCookie(cookies[0])
		s.Do(req)
		if got := b.noted(); len(got) == 0 || !strings.HasSuffix(got[len(got)-1], want) {
			t.Errorf("typed in a window that shows %q: %q", shown, got)
		}
	}
	req = webtest.Request(http.MethodPost, "/unit", strings.NewReader("unit=cubit&back=//elsewhere.example"))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := s.Do(req)
	if to := w.Header().Get("Location"); len(w.Result().Cookies()) > 0 || to != "/" {
		t.Errorf("an unknown unit set %v and led to %q", w.Result().Cookies(), to)
	}
}

// TestLightSwitch turns the page dark and light again, and lets nothing else into its cookie.
func TestLightSwitch(t *testing.T) {
	_, s := storybook(t)
	page := func(cookie string) string {
		req := webtest.Request(http.MethodGet, "/", nil)
		req.Header.Set("Cookie", "light="+cookie)
		return s.Do(req).Body.String()
	}
	choose := func(light string) []*http.Cookie {
		req := webtest.Request(http.MethodPost, "/light", strings.NewReader(url.Values{"light": {light}, "back": {"/people"}}.Encode()))
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := s.Do(req)
		if to := w.Header().Get("Location"); w.Code != http.StatusSeeOther || to != "/people" {
			t.Errorf("%q: %d to %q, want back to the page", light, w.Code, to)
		}
		return w.Result().Cookies()
	}
	dark := choose("dark")
	if len(dark) != 1 || !dark[0].HttpOnly || dark[0].SameSite != http.SameSiteLaxMode || dark[0].Path != "/" {
		t.Fatalf("cookies %v", dark)
	}
	webtest.Wants(t, page(dark[0].Value), `<html lang="en" data-light="dark">`, "Light page")
	webtest.Wants(t, page(choose("light")[0].Value), `<html lang="en" data-light="light">`, "Dark page")
	for _, bad := range []string{`"><script>`, "purple", ""} {
		if got := choose(bad); len(got) > 0 {
			t.Errorf("%q set %v", bad, got)
		}
		// As the system has it: each label where it does something.
		webtest.Wants(t, page(bad), `<html lang="en">`, `value="dark" class="while-light">Dark page`, `value="light" class="while-dark">Light page`)
	}
}

// TestBackLeadsToOurPagesOnly sends a switch's form with other places to go back to. A browser drops tabs and line ends
// from an address and takes a backslash for a slash (WHATWG URL standard, basic URL parser).
func TestBackLeadsToOurPagesOnly(t *testing.T) {
	_, s := storybook(t)
	for back, want := range map[string]string{
		"/batches/QM-2611?sort=relief": "/batches/QM-2611?sort=relief", "/necks/QM%2F7": "/necks/QM%2F7", "": "/", "batches": "/",
		"https://elsewhere.example/": "/", "//elsewhere.example": "/", "/\\elsewhere.example": "/", "\\\\elsewhere.example": "/",
		"/\t/elsewhere.example": "/", "/\n/elsewhere.example": "/", "javascript:alert(1)": "/", " //elsewhere.example": "/",
	} {
		if to := s.Post("/unit", url.Values{"unit": {"mm"}, "back": {back}}, http.StatusSeeOther); to != want {
			t.Errorf("back to %q leads to %q, want %q", back, to, want)
		}
	}
}

// TestHostileTextIsEscapedOnTheBench puts markup wherever a person's or a gauge's text is shown.
func TestHostileTextIsEscapedOnTheBench(t *testing.T) {
	b, s := storybook(t)
	const bad = `"><script>alert(1)</script><img src=x onerror='a'>`
	snap := decided(s, crowned{relief: 0.46})
	snap.Serial, snap.Inspector, snap.Working, snap.Demo = bad, bad, bad, true
	snap.Gauges = []bench.GaugeLine{{ID: bad, Name: bad, State: bad, Words: bad, ToDo: bad, Locked: true}}
	snap.Notice = &bench.Notice{Refused: true, Text: bad}
	snap.Waiting.Parked = []bench.ParkedNeck{{Serial: bad, BatchNumber: bad, Reason: bad}}
	snap.Points = slices.Clone(snap.Points)
	snap.Points[1].Words, snap.Points[1].Key = bad, bad
	for _, stage := range []bench.Stage{bench.Decided, bench.Measuring, bench.PersonDecides, bench.Idle} {
		snap.Stage = stage
		b.show(snap)
		page := s.Get("/", http.StatusOK)
		if contains(page, "<script>alert") || contains(page, "<img src=x") {
			t.Errorf("%s: markup from outside reaches the page", stage)
		}
		if !contains(page, "&lt;script&gt;alert(1)") {
			t.Errorf("%s: the text is not shown at all", stage)
		}
	}
}

// TestErrorPageAndAssets looks at an unknown page, and at the assets' names and headers.
func TestErrorPageAndAssets(t *testing.T) {
	_, s := storybook(t)
	webtest.Wants(t, s.Get("/no/such", http.StatusNotFound), "There is no page at /no/such.", `<main id="main"`)
	if hostile := s.Get("/%22%3E%3Cscript%3Ealert(1)%3C/script%3E", http.StatusNotFound); contains(hostile, "<script>alert") {
		t.Error("markup in the address reaches the error page")
	}
	page := s.Get("/", http.StatusOK)
	_, after, _ := strings.Cut(page, `type="module" src="`)
	src, _, _ := strings.Cut(after, `"`)
	w := s.Do(webtest.Request(http.MethodGet, src, nil))
	if w.Code != http.StatusOK || !contains(w.Header().Get("Cache-Control"), "immutable") || !contains(w.Header().Get("Content-Type"), "javascript") {
		t.Errorf("%s: %d %v", src, w.Code, w.Header())
	}
	s.Get("/assets/000000000000/bench.js", http.StatusNotFound)
	if contains(page, "http://") || contains(page, "https://") {
		t.Error("the page names an address outside the station")
	}
}

// TestEveryStateIsLabelledInBothUnits looks for what every state of the bench must have, in mm and in inches: landmarks,
// live regions, a label for each field, five keys, a word and a shape for each state.
func TestEveryStateIsLabelledInBothUnits(t *testing.T) {
	b, s := storybook(t)
	tag := regexp.MustCompile(`<(input|select|textarea)\b[^>]*>`)
	label := regexp.MustCompile(`<label for="([^"]+)"`)
	state := regexp.MustCompile(`<td class="state">(.*?)</td>`)
	words := map[string]bool{}
	for _, unit := range []string{"mm", "in"} {
		for _, st := range stories(s) {
			b.show(st.snap)
			req := webtest.Request(http.MethodGet, "/", nil)
			req.AddCookie(&http.Cookie{Name: "unit", Value: unit})
			w := s.Do(req)
			page, at := w.Body.String(), st.name+" in "+unit
			if w.Code != http.StatusOK {
				t.Errorf("%s: status %d", at, w.Code)
			}
			for part, times := range map[string]int{
				"<main ": 1, "<h1": 1, `<nav aria-label="Pages">`: 1, `<section class="prompt" aria-label="What to do">`: 1,
				`<section class="sofar" aria-label="The neck so far">`: 1, `id="said" class="unseen" role="status" aria-live="polite"`: 1,
				`id="notice" role="alert"`: 1, `data-action="`: 5, "NaN": 0, "Inf": 0, "%!": 0, "&lt;nil&gt;": 0, "0x": 0,
			} {
				if n := strings.Count(page, part); n != times {
					t.Errorf("%s: %q stands %d times, want %d", at, part, n, times)
				}
			}
			labelled := map[string]bool{}
			for _, m := range label.FindAllStringSubmatch(page, -1) {
				labelled[m[1]] = true
			}
			for _, m := range tag.FindAllStringIndex(page, -1) {
				field := page[m[0]:m[1]]
				before := page[:m[0]]
				inside := strings.LastIndex(before, "<label") > strings.LastIndex(before, "</label>")
				_, id, _ := strings.Cut(field, `id="`)
				id, _, _ = strings.Cut(id, `"`)
				if !contains(field, `type="hidden"`) && !inside && !labelled[id] {
					t.Errorf("%s: no label for %s", at, field)
				}
			}
			for _, m := range state.FindAllStringSubmatch(page, -1) {
				shape, word, _ := strings.Cut(m[1], "</svg>")
				word = strings.TrimSpace(strings.NewReplacer(`<span class="unseen">`, "", "</span>", "").Replace(word))
				words[word] = true
				if !contains(shape, "<svg") || draw.StateOf[word] == [2]string{} && word != string(inspect.NotMeasured) {
					t.Errorf("%s: a state is shown as %q", at, m[1])
				}
			}
			if unit == "in" {
				_, side, _ := strings.Cut(page, `<div id="characteristics">`)
				side, _, _ = strings.Cut(side, `<div id="steps">`)
				if contains(side, " mm") {
					t.Errorf("%s: a characteristic is shown in mm", at)
				}
			}
		}
	}
	for _, z := range []inspect.Zone{inspect.Conforming, inspect.Nonconforming, inspect.Undecided, inspect.NotMeasured} {
		if !words[string(z)] {
			t.Errorf("no story shows a characteristic that is %s; shown are %v", z, words)
		}
	}
}

// A press that a line sends twice is carried out once, and both are answered alike.
func TestPressThatComesTwice(t *testing.T) {
	b, s := storybook(t)
	for range 2 {
		s.Post("/bench/take", url.Values{"window": {"w"}, "press": {"7"}}, http.StatusSeeOther)
	}
	if got := b.noted(); !slices.Equal(got, []string{"take"}) {
		t.Errorf("the bench got %q", got)
	}
	for _, status := range []int{http.StatusUnprocessableEntity, http.StatusConflict} {
		webtest.Wants(t, s.Post("/bench/climate", url.Values{"temperature": {"warm"}, "window": {"w"}, "press": {"8"}}, status), "is not a number")
	}
}
