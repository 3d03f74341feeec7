package necks

import (
	"fmt"
	"net/http"
	"strings"

	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// maxFound is how many necks a search shows.
const maxFound = 40

// necksPage is a search over every serial number in the record.
type necksPage struct {
	Query    string
	Sentence string
	Necks    []show.NeckLine
}

func (s *server) necks(c *site.Request) error {
	p := necksPage{Query: strings.TrimSpace(c.Query("q"))}
	if p.Query == "" {
		p.Sentence = "Any part of the serial number will do."
		return c.Show(http.StatusOK, "necks", "Necks", p)
	}
	rows, err := s.opt.Record.SearchNecks(c.Request.Context(), p.Query, maxFound+1)
	if err != nil {
		return err
	}
	if len(rows) == 1 || (len(rows) > 1 && rows[0].Serial == p.Query) {
		return c.To(site.NeckPath(rows[0].Serial))
	}
	switch n := len(rows); {
	case n == 0:
		near, err := nearestSerial(c.Request.Context(), s.opt.Record, p.Query)
		if err != nil {
			return err
		}
		p.Sentence = unknownSerial(p.Query, near)
		if near != "" {
			if rows, err = s.opt.Record.SearchNecks(c.Request.Context(), near, 1); err != nil {
				return err
			}
		}
	case n > maxFound:
		rows = rows[:maxFound]
		p.Sentence = fmt.Sprintf("More than %d necks have %q in their serial number; these are the newest. Type more of it.", maxFound, p.Query)
	default:
		p.Sentence = fmt.Sprintf("%d necks have %q in their serial number.", n, p.Query)
	}
	p.Necks = show.NeckLines(rows)
	return c.Show(http.StatusOK, "necks", "Necks", p)
}

// unknownNeck answers 404 with the nearest serial number.
func (s *server) unknownNeck(c *site.Request, serial string) error {
	near, err := nearestSerial(c.Request.Context(), s.opt.Record, serial)
	if err != nil {
		return err
	}
	p := necksPage{Query: serial, Sentence: unknownSerial(serial, near)}
	if near != "" {
		rows, err := s.opt.Record.SearchNecks(c.Request.Context(), near, 1)
		if err != nil {
			return err
		}
		p.Necks = show.NeckLines(rows)
	}
	return c.Show(http.StatusNotFound, "necks", "Neck not found", p)
}
