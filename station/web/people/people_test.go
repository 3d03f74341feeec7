package people

import (
	"net/url"
	"testing"

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
