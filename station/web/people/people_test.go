package people

import (
	"net/url"
	"strings"
	"testing"

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
