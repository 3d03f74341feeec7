// Package shift is the wall page, which is read from afar, and the page with which a shift is handed over.
package shift

import (
	"context"
	"embed"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record.
type Record interface {
	Work(ctx context.Context, from, to time.Time) (batch.Work, error)
	Notes(ctx context.Context, most int) ([]batch.ShiftNote, error)
	AddNote(ctx context.Context, by, text string) (batch.ShiftNote, error)
	OpenAlarms(ctx context.Context) ([]batch.Alarm, error)
	Counts(ctx context.Context, batchID string) (batch.Counts, error)
	NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error)
}

// Bench knows what lies on it and what waits.
type Bench interface{ Snapshot() *bench.Snapshot }

// Options are what the pages read.
type Options struct {
	Record Record
	Bench  Bench
	Now    func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/wall", s.wall)
	g.GET("/wall/now", s.wallNow)
	g.GET("/handover", s.handover)
	g.POST("/handover", s.addNote)
	return nil
}

// shiftHours is how long a shift is while the page's address does not say when it began.
const shiftHours = 8

// began is when the shift began: the address's from, as 06:00, at its last occurrence; else so many hours ago.
func began(c *site.Request, now time.Time) (from time.Time, given string, err error) {
	text := strings.TrimSpace(c.Query("from"))
	if text == "" {
		return now.Add(-shiftHours * time.Hour), "", nil
	}
	clock, err := time.Parse("15:04", text)
	if err != nil {
		return now, "", batch.Mendable.Errorf("The shift's beginning %q is not a time of the day: write it like 06:00.", text)
	}
	here := now.Local()
	from = time.Date(here.Year(), here.Month(), here.Day(), clock.Hour(), clock.Minute(), 0, 0, here.Location())
	if from.After(now) {
		from = from.AddDate(0, 0, -1)
	}
	return from, text, nil
}

// span is a span of time and what was judged in it.
type span struct {
	Title    string
	Judged   int
	Sentence string
	Ends     string
	Takt     string
}

func (s *server) span(ctx context.Context, title string, from, to time.Time) (span, batch.Work, error) {
	w, err := s.opt.Record.Work(ctx, from, to)
	return span{Title: title, Judged: w.Judged, Sentence: tell.Work(w), Ends: tell.WorkEnds(w), Takt: tell.Takt(w.Takt)}, w, err
}

// wallPage is what is read from afar.
type wallPage struct {
	At     time.Time
	From   string   // of the address, "" for none
	Batch  string   // sentence of the batch on the bench, "" without one
	Yield  string   // its first-pass yield and the plan
	Spans  []span   // the hour and the shift
	Gauges []string // that are not well
	None   bool     // no gauge is on file
	Waits  []show.WaitGroup
	Alarms []batch.Alarm
}

func (s *server) wallPage(c *site.Request) (p wallPage, err error) {
	ctx, now := c.Request.Context(), s.opt.Now()
	from, given, err := began(c, now)
	if err != nil {
		return p, err
	}
	p.At, p.From = now, given
	hour, _, err := s.span(ctx, "This hour", bench.HourOf(now), now)
	if err != nil {
		return p, err
	}
	shift, _, err := s.span(ctx, "Since "+from.Local().Format("15:04"), from, now)
	if err != nil {
		return p, err
	}
	p.Spans = []span{hour, shift}
	if p.Alarms, err = s.opt.Record.OpenAlarms(ctx); err != nil {
		return p, err
	}
	snap := s.opt.Bench.Snapshot()
	p.None = len(snap.Gauges) == 0
	for _, g := range snap.Gauges {
		if !site.WellGauge(g) {
			p.Gauges = append(p.Gauges, g.Words)
		}
	}
	if p.Waits, err = s.waits(ctx, snap, now); err != nil {
		return p, err
	}
	if snap.Batch == nil {
		return p, nil
	}
	counts, err := s.opt.Record.Counts(ctx, snap.Batch.ID)
	if err != nil {
		return p, err
	}
	p.Batch = snap.Batch.Number + ": " + tell.Batch(counts)
	if yield := tell.YieldAgainstPlan(counts, snap.Batch.Spec.Spec.Plan); yield != "" {
		p.Yield = "Of " + snap.Batch.Number + ", " + yield
	}
	return p, nil
}

// waits are the necks of all batches that wait; gauges have their own lines.
func (s *server) waits(ctx context.Context, snap *bench.Snapshot, now time.Time) ([]show.WaitGroup, error) {
	w := snap.Waiting
	if err := w.ReadNecks(ctx, s.opt.Record, ""); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(show.Waiting(&w, snap.Batch, "", now), func(g show.WaitGroup) bool { return !g.Necks }), nil
}

func (s *server) wall(c *site.Request) error {
	p, err := s.wallPage(c)
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "wall", "Wall", p)
}

// wallNow is what the wall page's module puts in its place every few seconds.
func (s *server) wallNow(c *site.Request) error {
	p, err := s.wallPage(c)
	if err != nil {
		return err
	}
	c.Header("Cache-Control", "no-store")
	return c.ShowPart("wall-now", p)
}

// handoverPage is the end of a shift.
type handoverPage struct {
	At      time.Time
	From    time.Time
	Given   string
	Span    span
	By      []batch.Share
	Reasons []reason
	Gauges  []bench.GaugeLine // that are not well
	None    bool              // no gauge is on file
	Waits   []show.WaitGroup
	Alarms  []batch.Alarm
	Notes   []batch.ShiftNote
	Form    *form.Form
}

// reason is why so many necks did not pass at their first inspection.
type reason struct {
	Words string
	Necks int
}

// mostNotes is how many notes are listed.
const mostNotes = 20

func noteForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		by,
		{Name: "text", Label: "Note for the next shift", Kind: "text", Allowed: "1 to 500 characters", Needed: true},
	}}}}, err
}

func (s *server) handover(c *site.Request) error {
	f, err := noteForm(c)
	if err != nil {
		return err
	}
	return s.showHandover(c, http.StatusOK, f)
}

func (s *server) showHandover(c *site.Request, status int, f *form.Form) error {
	ctx, now := c.Request.Context(), s.opt.Now()
	from, given, err := began(c, now)
	if err != nil {
		return err
	}
	p := handoverPage{At: now, From: from, Given: given, Form: f}
	var w batch.Work
	if p.Span, w, err = s.span(ctx, "", from, now); err != nil {
		return err
	}
	p.By = w.By
	for _, r := range w.Reasons {
		p.Reasons = append(p.Reasons, reason{inspect.Name(r.Name), r.Necks})
	}
	if p.Alarms, err = s.opt.Record.OpenAlarms(ctx); err != nil {
		return err
	}
	if p.Notes, err = s.opt.Record.Notes(ctx, mostNotes); err != nil {
		return err
	}
	snap := s.opt.Bench.Snapshot()
	p.None = len(snap.Gauges) == 0
	for _, g := range snap.Gauges {
		if !site.WellGauge(g) || g.Due {
			p.Gauges = append(p.Gauges, g)
		}
	}
	if p.Waits, err = s.waits(ctx, snap, now); err != nil {
		return err
	}
	return c.Show(status, "handover", "Handing the shift over", p)
}

func (s *server) addNote(c *site.Request) error {
	f, err := noteForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, text := f.Choice("by"), f.Text("text", 500)
	if f.Ok() {
		if _, err := s.opt.Record.AddNote(c.Request.Context(), by, text); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.showHandover(c, c.Refused(f), f)
	}
	if given := c.Query("from"); given != "" {
		return c.To("/handover?from=" + url.QueryEscape(given) + "#notes")
	}
	return c.To("/handover#notes")
}
