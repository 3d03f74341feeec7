package web

import (
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// doubtLine is one inspection in doubt in words.
type doubtLine struct {
	batch.Doubt
	Where string // where the neck is to be looked for
	Taken string // which readings are in doubt: "34 crown heights"
	Rests string // the limited characteristics that rest on them
	Ended string // how the doubt was cleared, "" while it stands
}

// doubtList is what is in doubt of a gauge, a batch or a neck.
type doubtList struct {
	Sentence string
	Lines    []doubtLine // those that stand first
	Standing int
	List     string     // path of the call-back list that prints
	File     string     // path of the same as a delimited file
	Common   *doubtLine // of the one failed check that all of it rests on; nil where there are several
}

// doubtsOf lists the inspections in doubt that a filter picks. query picks the same in a path.
func (s *server) doubtsOf(ctx context.Context, f batch.DoubtFilter, query string) (doubtList, error) {
	all, err := s.opt.Record.Doubts(ctx, f)
	if err != nil {
		return doubtList{}, err
	}
	l := doubtList{List: "/callback?" + query, File: "/callback.csv?" + query}
	specs := map[string]*inspect.Spec{}
	necks := map[string]bool{}
	for _, d := range all {
		if specs[d.Neck.BatchNumber] == nil {
			b, err := s.opt.Record.Batch(ctx, d.Neck.BatchNumber)
			if err != nil {
				return l, err
			}
			specs[d.Neck.BatchNumber] = b.Spec.Spec.WithDefaults()
		}
		line := doubtLine{Doubt: d, Where: whereWords(d), Taken: takenWords(d.Points), Rests: restWords(specs[d.Neck.BatchNumber], d.RestOn)}
		switch d.Cleared {
		case batch.ClearedPerson:
			line.Ended = fmt.Sprintf("cleared by %s, %s: %s", d.ClearedBy, show.When(d.ClearedAt, s.opt.Now()), d.Reason)
		case batch.ClearedAttempt:
			line.Ended = "inspected again, " + show.When(d.ClearedAt, s.opt.Now())
		case batch.ClearedMeasured:
			line.Ended = "its readings were measured again"
		default:
			l.Standing++
			necks[d.Neck.ID] = true
		}
		l.Lines = append(l.Lines, line)
	}
	slices.SortStableFunc(l.Lines, func(a, b doubtLine) int { return cmp.Compare(min(1, len(a.Ended)), min(1, len(b.Ended))) })
	if len(l.Lines) > 1 && !slices.ContainsFunc(l.Lines, func(d doubtLine) bool {
		return d.GaugeName != l.Lines[0].GaugeName || !d.FailedAt.Equal(l.Lines[0].FailedAt) || !d.GoodAt.Equal(l.Lines[0].GoodAt) || d.Why != l.Lines[0].Why
	}) {
		l.Common = &l.Lines[0]
	}
	switch n := len(necks); {
	case len(all) == 0:
		l.Sentence = "Nothing is in doubt."
	case n == 0:
		l.Sentence = fmt.Sprintf("Nothing is in doubt any more: %s cleared.", show.Counted(len(all), "inspection was", "inspections were"))
	default:
		l.Sentence = fmt.Sprintf("%s in doubt and may not ship: call %s back and inspect %s again, or clear each with a name and a reason on its page.",
			show.Counted(n, "neck is", "necks are"), show.Pick(n == 1, "it", "them"), show.Pick(n == 1, "it", "them"))
	}
	return l, nil
}

// whereWords says where a neck is to be looked for, from what was decided about it last.
func whereWords(d batch.Doubt) string {
	switch {
	case d.Neck.State == batch.Open:
		return "on the bench"
	case d.Neck.State == batch.Parked:
		return "parked at the bench"
	}
	where := map[inspect.Disposition]string{
		inspect.Pass: "passed on", inspect.Concession: "passed on by concession", inspect.Rework: "back on the line for rework",
		inspect.Repair: "with the repairer", inspect.Scrap: "withdrawn as scrap", inspect.Remeasure: "waiting to be measured again",
	}[d.Neck.Disposition]
	if where == "" {
		where = "at the bench, without a verdict"
	}
	if !d.BatchClosed.IsZero() {
		where += "; its batch was closed on " + show.Day(d.BatchClosed) + " and may have left the house"
	}
	return where
}

// takenWords counts points by their kind.
func takenWords(points []batch.Point) string {
	var kinds []batch.Kind
	n := map[batch.Kind]int{}
	for _, p := range points {
		if n[p.Kind] == 0 {
			kinds = append(kinds, p.Kind)
		}
		n[p.Kind]++
	}
	words := make([]string, len(kinds))
	for i, k := range kinds {
		words[i] = fmt.Sprintf("%s: %d", cmp.Or(kindWords[k], string(k)), n[k])
	}
	return strings.Join(words, "; ")
}

// restWords names characteristics, those of one name together.
func restWords(spec *inspect.Spec, all []inspect.Characteristic) string {
	var names []string
	by := map[string][]inspect.Characteristic{}
	for _, c := range all {
		if by[c.Name] == nil {
			names = append(names, c.Name)
		}
		by[c.Name] = append(by[c.Name], c)
	}
	words := make([]string, len(names))
	for i, name := range names {
		switch n := len(by[name]); n {
		case 1, 2:
			var each []string
			for _, c := range by[name] {
				each = append(each, inspect.Words(spec, c))
			}
			words[i] = strings.Join(each, "; ")
		default:
			words[i] = fmt.Sprintf("%s at %d places", inspect.Name(name), n)
		}
	}
	return strings.Join(words, "; ")
}

// callbackPage is the call-back list by itself, to be printed.
type callbackPage struct {
	Title string
	doubtList
}

// callback reads what a request asks for: a gauge's, a batch's or every inspection in doubt.
func (s *server) callback(c *site.Request) (callbackPage, error) {
	ctx := c.Request.Context()
	p := callbackPage{Title: "Necks to call back"}
	var f batch.DoubtFilter
	query := ""
	switch {
	case c.Query("gauge") != "":
		all, err := s.opt.Record.Gauges(ctx)
		if err != nil {
			return p, err
		}
		i := slices.IndexFunc(all, func(g batch.Gauge) bool { return g.ID == c.Query("gauge") })
		if i < 0 {
			return p, batch.Absent.Errorf("No gauge with this identity is in the record. The page Gauges lists all of them.")
		}
		f.GaugeID, query = all[i].ID, "gauge="+url.QueryEscape(all[i].ID)
		p.Title += ": " + all[i].Name
	case c.Query("batch") != "":
		b, err := s.opt.Record.Batch(ctx, c.Query("batch"))
		if err != nil {
			return p, err
		}
		f.BatchID, query = b.ID, "batch="+url.QueryEscape(b.Number)
		p.Title += ": batch " + b.Number
	}
	var err error
	p.doubtList, err = s.doubtsOf(ctx, f, query)
	return p, err
}

func (s *server) callbackList(c *site.Request) error {
	p, err := s.callback(c)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "callback", p.Title, p)
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
		"readings_in_doubt", "rests_on", "cleared"}}
	for _, d := range p.Lines {
		rows = append(rows, []string{d.Neck.Serial, d.Neck.BatchNumber, fmt.Sprint(d.Attempt), stamp(d.InspectedAt), d.Inspector, string(d.Disposition), d.Where, d.GaugeName,
			stamp(d.GoodAt), stamp(d.FailedAt), d.Why, d.Taken, d.Rests, d.Ended})
	}
	if err := w.WriteAll(safeCells(rows)); err != nil {
		return err
	}
	c.Header("Content-Disposition", `attachment; filename="call-back.csv"`)
	c.Data(http.StatusOK, "text/csv; charset=utf-8", out.Bytes())
	return nil
}

// safeCells keeps a spreadsheet from taking what was typed for a formula.
func safeCells(rows [][]string) [][]string {
	for _, row := range rows {
		for i, cell := range row {
			if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
				row[i] = "'" + cell
			}
		}
	}
	return rows
}

// clearForm asks who clears a neck of doubt, and why.
func (s *server) clearForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.QualityManager)
	by.Label = "Cleared by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		by, {Name: "reason", Label: "Reason", Kind: "text", Allowed: "why the readings in doubt do not matter, e.g. measured again with another gauge", Needed: true},
	}}}}, err
}

// clearDoubt clears a neck of doubt by a person's word.
func (s *server) clearDoubt(c *site.Request) error {
	ctx := c.Request.Context()
	neck, err := s.opt.Record.Neck(ctx, c.Param("serial"))
	if err != nil {
		return err
	}
	f, err := s.clearForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, reason := f.Choice("by"), f.Text("reason", 300)
	if f.Ok() {
		if err := s.opt.Record.ClearDoubt(ctx, by, neck.ID, reason); err == nil {
			if s.opt.Bench != nil {
				if err := s.opt.Bench.ReloadDoubt(ctx); err != nil {
					return err
				}
			}
			return c.To(site.NeckPath(neck.Serial))
		} else {
			f.Refuse(err)
		}
	}
	return s.showNeck(c, c.Refused(f), neck, f)
}
