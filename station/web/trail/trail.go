// Package trail is the page of the record: whether it is whole and kept twice, and who did what in it.
package trail

import (
	"cmp"
	"context"
	"embed"
	"iter"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/station/copies"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the page asks of the station's record.
type Record interface {
	Trail(ctx context.Context, f batch.TrailFilter) ([]batch.Entry, error)
	EachEntry(ctx context.Context, f batch.TrailFilter) iter.Seq2[batch.Entry, error]
	Entries(ctx context.Context) (int64, error)
	NewestCheckpoint(ctx context.Context) (*anchor.Checkpoint, error)
	People(ctx context.Context) ([]batch.Person, error)
	Gauges(ctx context.Context) ([]batch.Gauge, error)
}

// Care is how the record is cared for.
type Care interface {
	State() copies.State
	Free() int64 // bytes left on the record's disk, negative where that is not known
	Saw(ctx context.Context, by, note string) error
}

// Options are what the page reads and acts on.
type Options struct {
	Record  Record
	Care    Care // nil: nothing cares for it
	Station string
	Now     func() time.Time
}

type server struct{ opt Options }

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Record", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/record", func(c *site.Request) error { return s.show(c, http.StatusOK, nil) })
	g.GET("/record/:file", s.file)
	g.POST("/record/looked", s.looked)
	return nil
}

// atOnce is how many entries a page lists.
const atOnce = 30

// page is how the record stands, and entries of its trail.
type page struct {
	Head    []headLine
	Finding *form.Form // who looked at what the last verification found; nil where there is nothing to look at
	Found   string
	Asked   asked
	Error   string // why nothing can be picked out so
	Entries []entry
	Newer   string // where the newest are, "" on their page
	Older   string // "" on the last page
	Files   []fileLink
	People  []string
	Gauges  []string
	Matters []choice
}

// asked is what the entries are picked out by, as it was typed.
type asked struct{ By, Neck, Batch, Gauge, Matter, From, To string }

type choice struct {
	Value, Label string
	On           bool
}

type fileLink struct{ Path, Label string }

// entry is one line of the trail.
type entry struct {
	batch.Entry
	Says      string
	GaugePath string
	Digest    string
}

// Seal is the beginning of the digest that an entry holds.
func (e entry) Seal() string { return e.Digest[:min(12, len(e.Digest))] }

// filter reads what is asked for.
func filter(c *site.Request) (f batch.TrailFilter, a asked, err error) {
	q := func(name string) string { return strings.TrimSpace(c.Query(name)) }
	a = asked{q("by"), q("neck"), q("batch"), q("gauge"), q("matter"), q("from"), q("to")}
	f = batch.TrailFilter{Person: a.By, Serial: a.Neck, Batch: a.Batch, Gauge: a.Gauge, Matter: batch.Matter(a.Matter)}
	day := func(label, text string) time.Time {
		if text == "" || err != nil {
			return time.Time{}
		}
		at, bad := time.ParseInLocation(time.DateOnly, text, time.Local)
		if bad != nil {
			err = batch.Mendable.Errorf("%s: found %q; allowed: a day, such as 2026-11-30", label, batch.Shown(text))
		}
		return at
	}
	if f.From, f.To = day("From", a.From), day("To", a.To); !f.To.IsZero() {
		f.To = f.To.AddDate(0, 0, 1) // to its end
	}
	if before := q("before"); before != "" && err == nil {
		if f.Before, err = strconv.ParseInt(before, 10, 64); err != nil || f.Before < 1 {
			err = batch.Mendable.Errorf("found %q as the entry that the page ends before; allowed: a whole number from 1", batch.Shown(before))
		}
	}
	return f, a, err
}

// query is the address's part that asks for the same.
func (a asked) query() url.Values {
	v := url.Values{}
	for name, value := range map[string]string{"by": a.By, "neck": a.Neck, "batch": a.Batch, "gauge": a.Gauge, "matter": a.Matter, "from": a.From, "to": a.To} {
		if value != "" {
			v.Set(name, value)
		}
	}
	return v
}

func (s *server) show(c *site.Request, status int, refused *form.Form) error {
	ctx := c.Request.Context()
	f, a, err := filter(c)
	p := page{Asked: a}
	f.Limit = atOnce + 1
	var found []batch.Entry
	if err == nil {
		found, err = s.opt.Record.Trail(ctx, f)
	}
	if kind := batch.KindOf(err); err != nil {
		if kind != batch.Absent && kind != batch.Mendable {
			return err
		}
		p.Error, status = tell.Sentence(err), c.StatusOf(err)
	}
	if err := s.choices(ctx, &p, c.Words()); err != nil {
		return err
	}
	if err := s.list(ctx, &p, found, f, c.Words()); err != nil {
		return err
	}
	if p.Head, err = s.head(ctx); err != nil {
		return err
	}
	if s.opt.Care != nil {
		st := s.opt.Care.State()
		if p.Found = st.Verify.Failed; st.Unseen() {
			if p.Finding = refused; refused == nil {
				if p.Finding, err = s.finding(c); err != nil {
					return err
				}
			}
		}
	}
	return c.Show(status, "record", "Record", p)
}

// list fills in the entries and where the pages before and after are.
func (s *server) list(ctx context.Context, p *page, found []batch.Entry, f batch.TrailFilter, words tell.Words) error {
	gauges, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return err
	}
	paths := map[string]string{}
	for _, g := range gauges {
		paths[g.Name] = "/gauges/" + url.PathEscape(g.ID)
	}
	query := p.Asked.query()
	if f.Before > 0 {
		p.Newer = "/record?" + query.Encode()
	}
	if len(found) > atOnce {
		found = found[:atOnce]
		query.Set("before", strconv.FormatInt(found[atOnce-1].Seq, 10))
		p.Older = "/record?" + query.Encode()
	}
	for _, e := range found {
		p.Entries = append(p.Entries, entry{e, words.Entry(e), paths[e.Gauge], tell.Digest(e)})
	}
	query.Del("before")
	for _, form := range []struct{ form, label string }{{"xlsx", "Workbook"}, {"csv", "CSV"}, {"json", "JSON"}} {
		p.Files = append(p.Files, fileLink{"/record/trail." + form.form + "?" + query.Encode(), form.label})
	}
	return nil
}

// choices fills in what may be chosen.
func (s *server) choices(ctx context.Context, p *page, words tell.Words) error {
	people, err := s.opt.Record.People(ctx)
	if err != nil {
		return err
	}
	for _, who := range people {
		p.People = append(p.People, who.Name)
	}
	gauges, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return err
	}
	for _, g := range gauges {
		p.Gauges = append(p.Gauges, g.Name)
	}
	for _, m := range words.Matters() {
		p.Matters = append(p.Matters, choice{string(m), words.MatterName(m), p.Asked.Matter == string(m)})
	}
	return nil
}

// file sends what is asked for as a file. It is written to a temporary file first: an error on the way becomes an error page, never half a file.
func (s *server) file(c *site.Request) error {
	form := export.TrailForm(strings.TrimPrefix(c.Param("file"), "trail."))
	f, _, err := filter(c)
	if err != nil {
		return err
	}
	f.Before = 0
	file, err := os.CreateTemp("", "trail-*."+string(export.TrailSheet))
	if err != nil {
		return export.NoRoom(batch.InTheMaking(err, export.TemporaryFile))
	}
	defer os.Remove(file.Name())
	defer file.Close()
	now, ctx := s.opt.Now(), c.Request.Context()
	if err := export.Trail(ctx, file, form, s.opt.Record.EachEntry(ctx, f), export.Options{Location: now.Location(), Now: now, Station: s.opt.Station, Words: c.Words()}); err != nil {
		return export.NoRoom(batch.InTheMaking(err, export.TemporaryFile, file.Name()))
	}
	kinds := map[export.TrailForm]string{export.TrailSheet: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", export.TrailCSV: "text/csv; charset=utf-8", export.TrailJSON: "application/jsonl"}
	c.Header("Content-Type", cmp.Or(kinds[form], "text/plain; charset=utf-8"))
	c.Attachment("record's trail " + now.Format(time.DateOnly) + "." + string(form))
	http.ServeContent(c.Writer, c.Request, "", now, file)
	return nil
}

// finding is the form of who looked at what was found.
func (s *server) finding(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.ReadTrail)
	if err != nil {
		return nil, err
	}
	by.ID = "looked-by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{by,
		{Name: "note", Label: "What was looked at, and what is done about it", Kind: "text", Needed: true, Allowed: "in words; it stands in the trail"}}}}}, nil
}

// looked notes that somebody looked at what was found.
func (s *server) looked(c *site.Request) error {
	if s.opt.Care == nil {
		return c.To("/record")
	}
	f, err := s.finding(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	note := f.Text("note", 400)
	if f.Ok() {
		err := s.opt.Care.Saw(c.Request.Context(), c.By(), note)
		if err == nil {
			return c.To("/record")
		}
		f.Refuse(err)
	}
	return s.show(c, c.Refused(f), f)
}
