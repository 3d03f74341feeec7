package instruments

import (
	"fmt"
	"net/http"
	"strings"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/batch/tell"
	"sagitta/station/web/site"
)

// mostListed is how many instruments the list shows.
const mostListed = 200

// listPage lists instruments, those of the newest visit first.
type listPage struct {
	Query    string
	Sentence string
	Rows     []listRow
	All      bool // the record has no other
}

type listRow struct {
	batch.InstrumentRow
	Kind string
	When string // what was promised is due, in words; "" where nothing is to be kept
	Due  bool   // today or before
}

func (s *server) list(c *site.Request) error {
	p := listPage{Query: strings.TrimSpace(c.Query("q"))}
	rows, err := s.opt.Record.Instruments(c.Request.Context(), p.Query, mostListed+1)
	if err != nil {
		return err
	}
	p.All = p.Query == "" && len(rows) <= mostListed
	switch n := len(rows); {
	case n == 0 && p.Query == "":
		p.Sentence = "None is entered yet."
	case n == 0:
		p.Sentence = fmt.Sprintf("No serial number, owner or maker's number has %q in it.", p.Query)
	case n > mostListed:
		rows, p.Sentence = rows[:mostListed], fmt.Sprintf("These %d were here last. Type a serial number or an owner to find others.", mostListed)
	default:
		p.Sentence = tell.InstrumentsHere(rows)
	}
	today := batch.DayOf(s.opt.Now())
	for _, r := range rows {
		row := listRow{InstrumentRow: r, Kind: kindTitle(r.Kind)}
		if r.Promise != nil {
			row.When, row.Due = tell.Due(r.Promise.Due, today), r.Promise.Due <= today
		}
		p.Rows = append(p.Rows, row)
	}
	return c.Show(http.StatusOK, "instruments", "Instruments", p)
}

// kindTitle is a kind of instrument for people.
func kindTitle(kind string) string {
	for _, t := range instrument.Templates() {
		if t.Name == kind {
			return t.Title
		}
	}
	return kind
}
