package necks

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/export"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// callbackPage is the call-back list by itself, to be printed.
type callbackPage struct {
	Title string
	show.DoubtList
	Form *form.Form // clears what still conforms
	Seal string     // of the group that it clears
	Send string     // path to send it to

	Page, Pages int // 0: all of it
	query       string
}

// mostCalled is how many necks of the list a page has.
const mostCalled = 25

// To is the path of another page of the list.
func (p callbackPage) To(page int) string { return p.with("page=" + strconv.Itoa(page)) }

// Whole is the path of all of it on one page, to be printed.
func (p callbackPage) Whole() string { return p.with("whole=1") }

func (p callbackPage) with(part string) string {
	return "/callback?" + strings.TrimPrefix(p.query+"&"+part, "&")
}

// callback reads what a request asks for: a gauge's, a batch's or every inspection in doubt.
func (s *server) callback(c *site.Request) (callbackPage, error) {
	ctx := c.Request.Context()
	p := callbackPage{Title: "Necks to call back"}
	var f batch.DoubtFilter
	query := ""
	switch {
	case c.Query("gauge") != "":
		g, err := show.GaugeOf(ctx, s.opt.Record, c.Query("gauge"))
		if err != nil {
			return p, err
		}
		f.GaugeID, query = g.ID, "gauge="+url.QueryEscape(g.ID)
		p.Title += ": " + g.Name
	case c.Query("batch") != "":
		b, err := s.opt.Record.Batch(ctx, c.Query("batch"))
		if err != nil {
			return p, err
		}
		f.BatchID, query = b.ID, "batch="+url.QueryEscape(b.Number)
		p.Title += ": batch " + b.Number
	}
	var err error
	if p.DoubtList, err = show.DoubtsOf(ctx, s.opt.Record, f, query, c.Unit(), s.opt.Now()); err != nil {
		return p, err
	}
	p.query = query
	p.Seal, p.Send = sealOf(p.DoubtList, p.Group), "/callback/clear?"+query+"#clear"
	p.Form, err = s.groupForm(c)
	return p, err
}

// callbackFile is the call-back list as comma-separated values with a header row; times are RFC 3339 in UTC.
func (s *server) callbackFile(c *site.Request) error {
	p, err := s.callback(c)
	if err != nil {
		return err
	}
	stamp := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.UTC().Format(time.RFC3339)
	}
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	rows := [][]string{{"serial", "batch", "attempt", "inspected_at", "inspector", "disposition", "where", "gauge", "last_good_check_at", "failed_check_at", "found",
		"readings_in_doubt", "rests_on", "cleared", "impact", "impact_found"}}
	for _, d := range p.Lines {
		rows = append(rows, []string{d.Neck.Serial, d.Neck.BatchNumber, fmt.Sprint(d.Attempt), stamp(d.InspectedAt), d.Inspector, string(d.Disposition), d.Where, d.GaugeName,
			stamp(d.Cause.From), stamp(d.Cause.To), d.Why, d.Taken, d.Rests, d.Ended,
			string(d.Impact.Outcome), d.Means})
	}
	for _, row := range rows {
		if err := w.Write(export.SafeCells(row)); err != nil {
			return err
		}
	}
	if w.Flush(); w.Error() != nil {
		return w.Error()
	}
	c.Header("Content-Disposition", `attachment; filename="call-back.csv"`)
	c.Data(http.StatusOK, "text/csv; charset=utf-8", out.Bytes())
	return nil
}
