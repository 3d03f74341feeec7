package people

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/draw"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

func TestPeople(t *testing.T) {
	s := webtest.Open(t)
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec}) })
	s.Post("/people", url.Values{"name": {"Åse O'Quill <i>"}, "role": {"inspector"}}, 303)
	page := s.Get("/people", 200)
	webtest.Wants(t, page, "Åse O&#39;Quill &lt;i&gt;", "1 inspector, 0 repairers, 0 quality managers")
	webtest.Wants(t, s.Post("/people", url.Values{"role": {"king"}}, 422), "Give name", "&#34;king&#34; is not offered")
}

// TestBadge gives a badge, refuses one that is somebody else's or none, and takes one away.
func TestBadge(t *testing.T) {
	s := webtest.Open(t).Fill()
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec}) })
	s.Post("/people/badge", url.Values{"person": {"Mara Quill"}, "badge": {"MQ-01"}}, 303)
	webtest.Wants(t, s.Get("/people", 200), "<td>MQ-01</td>", "<td>none</td>", "/people/badges")
	webtest.Wants(t, s.Get("/people/badges", 200), string(draw.BarCode("MQ-01")), "Mara Quill")
	webtest.Wants(t, s.Post("/people/badge", url.Values{"person": {"Tove Aske"}, "badge": {"mq-01"}}, 409), "it is the badge of Mara Quill", `value="mq-01"`)
	webtest.Wants(t, s.Post("/people/badge", url.Values{"person": {"Tove Aske"}, "badge": {"0.31"}}, 422), "shorter numbers would be taken for readings", `value="0.31"`)
	webtest.Wants(t, s.Post("/people/badge", url.Values{"person": {"Tove Aske"}, "badge": {"QM-2611"}}, 409), "a neck or a batch is called that")
	s.Post("/people/badge", url.Values{"person": {"Mara Quill"}, "badge": {""}}, 303)
	if page := s.Get("/people", 200); strings.Contains(page, "MQ-01") {
		t.Error("the badge is still there")
	}
	webtest.Wants(t, s.Get("/people/badges", 200), "Nobody has a badge yet.")
}

// Where people sign on an administrator alone is offered what may be done about people, and signs each act with their own password.
func TestAdministratorsManagePeople(t *testing.T) {
	s := webtest.Open(t).Fill().SignsOn()
	s.Rights = map[string]batch.Right{"GET /people": batch.Look}
	for path := range acts {
		s.Rights["POST "+path] = batch.ManagePeople
	}
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Codes: s.SignOn}) })
	s.As("Tove Aske", batch.ByPassword)
	if page := s.Get("/people", 200); strings.Contains(page, "<form method=\"post\" action=\"/people") {
		t.Error("a quality manager who does not administer is offered forms")
	}
	if status := s.Do(formOf("/people", url.Values{"name": {"Una Vost"}, "role": {"viewer"}, "password": {webtest.Password}})).Code; status != 403 {
		t.Errorf("a quality manager enters somebody: status %d", status)
	}
	s.As(webtest.Administrator, batch.ByPassword)
	entry := url.Values{"name": {"Una Vost"}, "role": {"viewer"}, "by": {"Tove Aske"}}
	webtest.Wants(t, s.Post("/people", entry, 422), `id="password-error">Nothing is here. Give your password.`)
	entry.Set("password", "four herons mend a violet door")
	webtest.Wants(t, s.Post("/people", entry, 401), `id="password-error">Name and password do not belong together`, `value="Una Vost"`, "Signed by "+webtest.Administrator)
	entry.Set("password", webtest.Password)
	s.Post("/people", entry, 303)
	webtest.Wants(t, s.Get("/people", 200), "1 inspector, 0 repairers, 2 quality managers, 1 viewer.")
	signed := webtest.Must[[]batch.Signature](t)(s.Rec.Signatures(t.Context(), "Una Vost"))
	if len(signed) != 1 || signed[0].By != webtest.Administrator || signed[0].Meaning != batch.ManagePeople {
		t.Errorf("signatures %+v", signed)
	}

	page := s.Post("/people/code", url.Values{"person": {"Una Vost"}, "password": {webtest.Password}}, 200)
	code := regexp.MustCompile(`class="one-time-code">([A-Z2-7-]{23})<`).FindStringSubmatch(page)
	if code == nil {
		t.Fatalf("no code is shown: %s", page)
	}
	webtest.Wants(t, page, "Una Vost's one-time code", "It is shown this once, and may be used once, until ")
	if strings.Contains(s.Get("/people", 200), code[1]) {
		t.Error("the code is shown again")
	}
	if _, err := s.SignOn.UseCode(t.Context(), code[1], "", webtest.Password, ""); err != nil {
		t.Error(err)
	}

	signs := func(form url.Values) url.Values { form.Set("password", webtest.Password); return form }
	webtest.Wants(t, s.Post("/people/role", signs(url.Values{"person": {webtest.Administrator}, "role": {"quality manager"}}), 409), "nobody who administers people would be left")
	webtest.Wants(t, s.Post("/people/retire", signs(url.Values{"person": {webtest.Administrator}}), 409), "nobody who administers people would be left")
	s.Post("/people/role", signs(url.Values{"person": {"Tove Aske"}, "role": {"quality manager"}, "administers": {"yes"}}), 303)
	s.Post("/people/retire", signs(url.Values{"person": {"Una Vost"}, "reason": {"went to another shop"}}), 303)
	page = s.Get("/people", 200)
	webtest.Wants(t, page, `<th scope="row">Una Vost</th><td>retired, was viewer</td>`, "quality manager, administers people")
	if strings.Contains(page, `<option value="Una Vost">`) {
		t.Error("who is retired is offered")
	}
	webtest.Wants(t, s.Post("/people/sign-on", signs(url.Values{}), 422), "Give reason")
	s.Post("/people/sign-on", signs(url.Values{"reason": {"I work alone now"}}), 303)
	webtest.Wants(t, s.Get("/people", 200), "No sign-on, this machine only", "Who may do what is not asked")
}

func formOf(path string, form url.Values) *http.Request {
	r := webtest.Request(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return r
}
