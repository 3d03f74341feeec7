// Package about is the page that says which program this is and under which license it may be used.
package about

import (
	"crypto/x509"
	"embed"
	"net/http"
	"time"

	"sagitta/station/certificate"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Options are what the page says.
type Options struct {
	Version string // of the program, one line; "": not known
	Station string // "": it has no name
	// Certificate is what the pages show to browsers now; nil, or nil of it, where they do not come by TLS of the station's own.
	Certificate func() *x509.Certificate
}

// page is the data of the template.
type page struct {
	Options
	Fingerprint string // of the certificate; "" without one
	Ends        time.Time
}

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("", files, nil)
	if err != nil {
		return err
	}
	g.GET("/about", func(c *site.Request) error {
		p := page{Options: opt}
		if opt.Certificate != nil {
			if leaf := opt.Certificate(); leaf != nil {
				p.Fingerprint, p.Ends = certificate.Fingerprint(leaf), leaf.NotAfter.Local()
			}
		}
		return c.Show(http.StatusOK, "about", "About", p)
	})
	return nil
}
