// Package about is the page that says which program this is and under which license it may be used.
package about

import (
	"embed"
	"net/http"

	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Options are what the page says.
type Options struct {
	Version string // of the program, one line; "": not known
	Station string // "": it has no name
}

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("", files, nil)
	if err != nil {
		return err
	}
	g.GET("/about", func(c *site.Request) error { return c.Show(http.StatusOK, "about", "About", opt) })
	return nil
}
