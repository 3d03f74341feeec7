package about

import (
	"crypto/x509"
	"net/http"
	"strings"
	"testing"
	"time"

	"sagitta/station/certificate"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestCertificateIsShown: who is asked by a browser whether to trust the station compares the fingerprint.
func TestCertificateIsShown(t *testing.T) {
	k, err := certificate.Own(t.TempDir(), []string{"bench-1"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	s := webtest.Open(t).Mount(func(m *site.Site) error { return Mount(m, Options{Certificate: k.Leaf}) })
	webtest.Wants(t, s.Get("/about", http.StatusOK), certificate.Fingerprint(k.Leaf()), k.Leaf().NotAfter.Local().Format("2006-01-02"))
	s = webtest.Open(t).Mount(func(m *site.Site) error {
		return Mount(m, Options{Certificate: func() *x509.Certificate { return nil }})
	})
	if strings.Contains(s.Get("/about", http.StatusOK), "SHA-256") {
		t.Error("a fingerprint of no certificate")
	}
}

// TestAbout looks for the version and the license on the page, and for the way to it in the page's foot.
func TestAbout(t *testing.T) {
	s := webtest.Open(t).Mount(func(k *site.Site) error { return Mount(k, Options{Version: "1.2, go1.26", Station: "bench 1"}) })
	webtest.Wants(t, s.Get("/about", http.StatusOK), "1.2, go1.26", "bench 1", "Apache License, version 2.0", `<a href="/about" aria-current="page">About</a>`)
	webtest.Wants(t, s.Get("/no/such/page", http.StatusNotFound), `<a href="/about">About</a>`)
}
