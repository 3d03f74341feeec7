// Package instruments is the pages of single instruments over their life: the list, a new one in one screen, and each with its owner, its
// visits and what is known of it. An instrument is known by its serial number.
package instruments

import (
	"context"
	"embed"
	"net/http"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Path is where the list is found.
const Path = "/instruments"

// Record is what the pages ask of the station's record.
type Record interface {
	Neck(ctx context.Context, serial string) (batch.Neck, error)
	SearchNecks(ctx context.Context, part string, limit int) ([]batch.NeckRow, error)
}

// Options are what the pages show and act on.
type Options struct {
	Record Record
	Now    func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Instruments", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET(Path, s.list)
	g.GET(Path+"/:serial", s.instrument)
	return nil
}

// maxFound is how many instruments the list shows.
const maxFound = 200

// listPage lists instruments, newest first.
type listPage struct {
	Query string
	Necks []show.NeckLine
}

func (s *server) list(c *site.Request) error {
	p := listPage{Query: strings.TrimSpace(c.Query("q"))}
	rows, err := s.opt.Record.SearchNecks(c.Request.Context(), p.Query, maxFound)
	if err != nil {
		return err
	}
	p.Necks = show.NeckLines(rows)
	return c.Show(http.StatusOK, "instruments", "Instruments", p)
}
