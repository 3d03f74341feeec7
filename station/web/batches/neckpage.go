package batches

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// necksShown is how many necks one page of the table holds.
const necksShown = 30

// neckTable is a page of a batch's necks with what picked them.
type neckTable struct {
	Necks       []show.NeckLine
	Shown       string // "Necks 1 to 200 of 12000 failing first by relief"
	Picked      bool   // a filter is set
	Serial      string
	Disposition string
	Kept        url.Values // the filters that links and the form carry on
	Page, Pages int
}

// neckFilters are the parts of the page's address that pick necks, with what they picked in words.
func neckFilters(c *site.Request, b batch.Batch, gauges map[string]string) (f batch.NeckFilter, kept url.Values, words []string) {
	f.BatchID, kept = b.ID, url.Values{}
	take := func(key string, use func(v string) string) {
		if v := strings.TrimSpace(c.Query(key)); v != "" {
			kept.Set(key, v)
			words = append(words, use(v))
		}
	}
	take("q", func(v string) string { f.Serial = v; return fmt.Sprintf("with %q in the serial number", v) })
	take("disposition", func(v string) string {
		f.Disposition = inspect.Disposition(v)
		return "whose newest verdict is " + v
	})
	var firsts []string
	for _, d := range site.PickedBy {
		v, given := c.GetQuery(string(d))
		if v = strings.TrimSpace(v); !given || !site.PickedFor(d, v) {
			continue
		}
		f.Firsts = append(f.Firsts, batch.FirstIs{Dimension: d, Value: v})
		kept.Set(string(d), v)
		which, _ := show.BehindWords(d, v, show.DimensionWords(d, v, gauges))
		if alone, ok := strings.CutPrefix(which, "and "); ok {
			words = append(words, alone)
		} else {
			firsts = append(firsts, which)
		}
	}
	if len(firsts) > 0 {
		words = append(words, "first inspected "+strings.Join(firsts, " "))
	}
	take("doubt", func(string) string { f.InDoubt = true; return "in doubt" })
	take("held", func(string) string { f.Held = true; return "held after an outgoing audit" })
	return f, kept, words
}

// pageOfNecks reads the page of necks that the address asks for.
func (s *server) pageOfNecks(c *site.Request, b batch.Batch) (neckTable, error) {
	gauges, err := show.GaugeNames(c.Request.Context(), s.opt.Record)
	if err != nil {
		return neckTable{}, err
	}
	f, kept, words := neckFilters(c, b, gauges)
	t := neckTable{Serial: f.Serial, Disposition: string(f.Disposition), Kept: kept, Picked: len(words) > 0, Page: 1}
	if n, err := strconv.Atoi(c.Query("page")); err == nil && n > 1 && n < 1e9 {
		t.Page = n
	}
	f.Limit = necksShown
	f.Offset = (t.Page - 1) * necksShown
	page, err := s.opt.Record.NeckPage(c.Request.Context(), f)
	if err == nil && len(page.Necks) == 0 && page.Total > 0 { // past the end
		t.Page, f.Offset = 1, 0
		page, err = s.opt.Record.NeckPage(c.Request.Context(), f)
	}
	if err != nil {
		return t, err
	}
	t.Necks, t.Pages = show.NeckLines(page.Necks), max(1, (page.Total+necksShown-1)/necksShown)
	if t.Pages > 1 || t.Picked {
		t.Shown = fmt.Sprintf("Necks %d to %d of %d", min(f.Offset+1, page.Total), f.Offset+len(page.Necks), page.Total)
		if t.Picked {
			t.Shown += " " + strings.Join(words, ", ")
		}
		t.Shown += "."
	}
	return t, nil
}

// To is the address part of another page of the same necks.
func (t neckTable) To(page int) string {
	v := url.Values{}
	for key, values := range t.Kept {
		v[key] = values
	}
	v.Set("page", fmt.Sprint(page))
	return "?" + v.Encode()
}
