package specs

import (
	"bytes"
	"html"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is an empty shop with these pages alone.
func shop(t testing.TB) *webtest.Shop {
	s := webtest.Open(t)
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Now: time.Now}) })
}

// TestExampleSpecificationCanBeReleased sends the example back as it is offered.
func TestExampleSpecificationCanBeReleased(t *testing.T) {
	s := shop(t).Fill()
	page := s.Get("/specs?example=yes", 200)
	_, after, _ := strings.Cut(page, `<textarea id="f-text"`)
	_, after, _ = strings.Cut(after, ">")
	text, _, found := strings.Cut(after, "</textarea>")
	if !found {
		t.Fatal("the page has no field for the text")
	}
	to := s.Post("/specs", url.Values{"text": {html.UnescapeString(text)}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, 200), "Example six-string, revision A")
	left := []string{"guard_factor", "held_fret", "scale_in", "scale_bass_mm", "scale_treble_mm", "perpendicular_fret", "leaves_mm", "whole", "two_sign", "takt_s", "repairs", "rod_end"} // what most have no need of
	for _, k := range specKeys() {
		if !strings.Contains(exampleSpec, "\n"+k.Key+" = ") && k.Block != "[[track]]" && !strings.Contains(k.Key, " or ") && !slices.Contains(left, k.Key) {
			t.Errorf("%s %s stands in the list but not in the example", k.Block, k.Key)
		}
	}
}

func TestSpecPages(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/specs", 200), "QM Bolt 648", "frozen", "QM-2611")
	webtest.Wants(t, s.Get("/specs/"+s.Spec.ID, 200), "648 mm", "relief, each track", "guarded acceptance", "0.36", "confirmed by the inspector", "Make a new revision")
	w := s.Do(webtest.Request(http.MethodGet, "/specs/"+s.Spec.ID+"/file.toml", nil))
	if w.Body.String() != webtest.SpecText {
		t.Error("the exported file is not the one that was imported")
	}

	text := webtest.SpecText
	post := func(text string, status int) string {
		return s.Post("/specs", url.Values{"by": {"Tove Aske"}, "text": {text}, "reason": {"the customer wants it so"}}, status)
	}
	webtest.Wants(t, post(strings.Replace(text, "scale_mm", "scale_mn", 1), 422), "the text, line 5, neck.scale_mn", "scale_mm", "guarded_acceptance")
	webtest.Wants(t, post(strings.Replace(text, "upper_mm = 0.36", "upper_mm = 0.37", 1), 409), "frozen")
	to := post(strings.Replace(strings.Replace(text, "upper_mm = 0.36", "upper_mm = 0.37", 1), `revision = "B"`, `revision = "C"`, 1), 303)
	page := s.Get("/specs/compare?a="+s.Spec.ID+"&b="+strings.TrimPrefix(to, "/specs/"), 200)
	webtest.Wants(t, page, "1 field differs", "0.2 mm to 0.36 mm", "0.2 mm to 0.37 mm", "≠")
	webtest.Wants(t, s.Get(to+"/edit", 200), "is not frozen", "revision = &#34;C&#34;")
	s.Get("/specs/none", 404)

	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", "bolt-d.toml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(part, strings.Replace(text, `revision = "B"`, `revision = 7`, 1)); err != nil {
		t.Fatal(err)
	}
	if err := form.WriteField("by", "Tove Aske"); err != nil {
		t.Fatal(err)
	}
	if err := form.Close(); err != nil {
		t.Fatal(err)
	}
	req := webtest.Request(http.MethodPost, "/specs", &body)
	req.Header.Set("Content-Type", form.FormDataContentType())
	upload := s.Do(req)
	if upload.Code != 422 {
		t.Errorf("status %d, want 422", upload.Code)
	}
	webtest.Wants(t, upload.Body.String(), "bolt-d.toml, line 2, revision", "revision = 7")
}

// A specification's page says what is watched, by default too.
func TestSpecificationSaysWhatIsWatched(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/specs/"+s.Spec.ID, http.StatusOK), "Control charts watched", "relief", "Run tests that raise an alarm", "Weighted moving average (EWMA) watched", "yes", "from 10 inspected necks on")
	text := webtest.SpecText + "\n[alarms]\ncharacteristics = [\"action\"]\ntests = []\nleast_necks = 4\n"
	to := s.Post("/specs", url.Values{"text": {strings.Replace(text, `revision = "B"`, `revision = "C"`, 1)}, "by": {"Tove Aske"}, "reason": {"fewer alarms"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get(to, http.StatusOK), "from 4 inspected necks on", "none")
	webtest.Wants(t, s.Post("/specs", url.Values{"text": {strings.Replace(text, `["action"]`, `["hump"]`, 1)}, "by": {"Tove Aske"}}, http.StatusUnprocessableEntity),
		"alarms.characteristics[1]: found &#34;hump&#34;; allowed: a characteristic with a limit here")
}
