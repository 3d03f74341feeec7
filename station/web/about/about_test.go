package about

import (
	"net/http"
	"testing"

	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestAbout looks for the version and the license on the page, and for the way to it in the page's foot.
func TestAbout(t *testing.T) {
	s := webtest.Open(t).Mount(func(k *site.Site) error { return Mount(k, Options{Version: "1.2, go1.26", Station: "bench 1"}) })
	webtest.Wants(t, s.Get("/about", http.StatusOK), "1.2, go1.26", "bench 1", "Apache License, version 2.0", `<a href="/about" aria-current="page">About</a>`)
	webtest.Wants(t, s.Get("/no/such/page", http.StatusNotFound), `<a href="/about">About</a>`)
}
