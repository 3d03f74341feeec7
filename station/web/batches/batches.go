// Package batches is the pages of batches: the list, one batch with its numbers, charts and necks, what other limits would have changed, its workbook.
package batches

import (
	"context"
	"embed"
	"fmt"
	"html/template"
	"iter"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/export"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the pages ask of the station's record: what a workbook is made of, and more.
type Record interface {
	export.Source

	OpenBatch(ctx context.Context, by string, b batch.Batch, serials []string) (batch.Batch, error)
	CloseBatch(ctx context.Context, by, number string) error
	AddNecks(ctx context.Context, by, batchID string, serials []string) ([]batch.Neck, error)
	Base(ctx context.Context, batchID string) (batch.ChartBase, error)
	FreezeBase(ctx context.Context, by, batchID string, first, last int, reason string) error
	Characteristics(ctx context.Context, s batch.Scope, name string, split batch.Split) ([]batch.CharacteristicRow, error)
	Series(ctx context.Context, f batch.SeriesFilter) iter.Seq2[batch.SeriesPoint, error]
	FirstValues(ctx context.Context, batchID string, newest bool, necks int) iter.Seq2[batch.FirstValue, error]
	NotConforming(ctx context.Context, batchID string, since time.Time) (map[string]int, error)
	NeckValues(ctx context.Context, batchID, name string, newest int) iter.Seq2[batch.NeckValues, error]
	BadSpans(ctx context.Context) ([]batch.BadSpan, error)
	Reworked(ctx context.Context, batchID string, of batch.Named, since time.Time) (n, between int, err error)
	Breakdown(ctx context.Context, s batch.Scope, by batch.Dimension) ([]batch.Share, error)
	Strata(ctx context.Context, s batch.Scope) (batch.Strata, error)
	NeckPage(ctx context.Context, f batch.NeckFilter) (batch.NeckPage, error)
	Loops(ctx context.Context, batchID string, newest int) (batch.Loops, error)
	ReworkOutcomes(ctx context.Context, batchID string, newest int) ([]batch.ReworkOutcome, error)
	Specs(ctx context.Context) ([]batch.SpecRevision, error)
	Gauges(ctx context.Context) ([]batch.Gauge, error)
	Batches(ctx context.Context) ([]batch.BatchRow, error)
	Doubts(ctx context.Context, f batch.DoubtFilter) ([]batch.Doubt, error)
	HasDoubts(ctx context.Context, batchID string) (bool, error)
	BatchAlarms(ctx context.Context, batchID string) ([]batch.Alarm, error)
	People(ctx context.Context) ([]batch.Person, error)
}

// Bench is the routine in progress.
type Bench interface {
	Snapshot() *bench.Snapshot
}

// Options are what the pages show and act on.
type Options struct {
	Record  Record
	Bench   Bench // nil: the station has none
	Station string
	Now     func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("Batches", files, template.FuncMap{"dispositions": func() []inspect.Disposition { return tell.Dispositions }, "checkCharacter": tell.CheckCharacter})
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/batches", s.batches)
	g.POST("/batches", s.openBatch)
	g.GET("/batches/:number", s.batchPage)
	for key, handler := range map[string]site.Handler{
		"necks": s.necksPage, "reasons": s.reasonsPage, "characteristics": s.characteristicsPage, "charts": s.chartsPage, "limits": s.limitsPage,
		"people": s.peoplePage, "rework": s.reworkPage, show.InDoubt.Key: s.doubtPage,
	} {
		g.GET("/batches/:number/"+key, handler)
	}
	g.GET("/batches/:number/what-if", s.whatIfPart)
	g.POST("/batches/:number/base", s.freezeBase)
	g.POST("/batches/:number/necks", s.addNecks)
	g.POST("/batches/:number/close", s.closeBatch)
	g.GET("/batches/:number/workbook.xlsx", s.workbook)
	return nil
}

// batchesPage lists the batches, open ones first, with the form for a new one.
type batchesPage struct {
	Sentence     string
	Open, Closed []batchLine
	Form         *form.Form
	CanOpen      bool     // there is a specification to open a batch against
	ToDo         string   // what is missing for it
	Warnings     []string // of specifications with limits that are never measured
}

// batchLine is one row of the tables of batches.
type batchLine struct {
	batch.BatchRow
	Sentence string
	MayShip  int
	First    show.Yield
	OnBench  bool
}

// openForm is the form for a new batch.
func (s *server) openForm(c *site.Request) (*form.Form, error) {
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return nil, err
	}
	revisions := []form.Option{{Value: "", Label: "choose a specification", On: true}}
	for _, sp := range specs {
		revisions = append(revisions, form.Option{Value: sp.ID, Label: sp.Name + ", revision " + sp.Revision, On: false})
	}
	checks := make([]form.Option, len(batch.CheckSystems))
	for i, system := range batch.CheckSystems {
		checks[i] = form.Option{Value: string(system), Label: tell.CheckCharacter(system)}
	}
	by, err := c.ByField(batch.OpenBatch)
	if err != nil {
		return nil, err
	}
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "number", Label: "Batch number", Kind: "text", Allowed: "not used before, e.g. AB-26", Needed: true},
		{Name: "spec", Label: "Specification", Kind: "select", Allowed: "opening the batch freezes this revision", Options: revisions, Needed: true},
		{Name: "planned", Label: "Necks planned", Kind: "number", Unit: "necks", Allowed: "0 to 1000000; 0: open-ended"},
		{Name: "serials", Label: "Serial numbers", Kind: "area", Rows: 6, Allowed: "one a line, or first..last, e.g. AB-0001..AB-0030; more can be added later"},
		{Name: "pattern", Label: "Pattern of serial numbers", Kind: "text", Allowed: `a regular expression, e.g. AB-\d{4}; with it any serial number that fits may come to the bench; empty: only registered ones`},
		{Name: "check", Label: "Check character", Kind: "select", Allowed: "what every serial number ends in, so that a misread one is refused; a range above is given without, and gets them", Options: checks},
		{Name: "note", Label: "Note", Kind: "text", Allowed: "up to 500 characters"},
		by,
	}}}}, nil
}

func (s *server) batches(c *site.Request) error {
	f, err := s.openForm(c)
	if err != nil {
		return err
	}
	return s.showBatches(c, http.StatusOK, f)
}

func (s *server) showBatches(c *site.Request, status int, f *form.Form) error {
	rows, err := s.opt.Record.Batches(c.Request.Context())
	if err != nil {
		return err
	}
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return err
	}
	now := s.onBench()
	p := batchesPage{Form: f, Warnings: show.UnmeasurableOf(specs), CanOpen: len(f.Field("spec").Options) > 1}
	may, of := 0, 0
	for _, r := range rows {
		line := batchLine{
			BatchRow: r, Sentence: tell.Batch(r.Counts), MayShip: r.Counts.MayShip(),
			First: show.YieldsOf(r.Counts)[0], OnBench: r.Number == now,
		}
		if r.ClosedAt.IsZero() {
			p.Open = append(p.Open, line)
			may, of = may+line.MayShip, of+max(r.Counts.Planned, r.Counts.Registered)
		} else {
			p.Closed = append(p.Closed, line)
		}
	}
	newest := func(a, b batchLine) int { return b.OpenedAt.Compare(a.OpenedAt) }
	slices.SortStableFunc(p.Open, newest)
	slices.SortStableFunc(p.Closed, newest)
	switch {
	case len(rows) == 0:
		p.Sentence = "No batch has been opened yet."
	case len(p.Open) == 0:
		p.Sentence = fmt.Sprintf("No batch is open; %s.", tell.Counted(len(p.Closed), "is closed", "are closed"))
	default:
		p.Sentence = fmt.Sprintf("%s open; %d of %d necks in %s may ship.", tell.Counted(len(p.Open), "batch is", "batches are"), may, of, show.Pick(len(p.Open) == 1, "it", "them"))
	}
	if !p.CanOpen {
		p.ToDo = "A batch is judged against a specification, and none is on file. Import one first."
	} else if by := f.Field("by"); by.Missing != "" {
		p.ToDo = "A quality manager opens a batch, and none is on file. Add one on the page People."
	} else if by.Barred != "" {
		p.ToDo = by.Barred
	}
	return c.Show(status, "batches", "Batches", p)
}

func (s *server) openBatch(c *site.Request) error {
	f, err := s.openForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	b := batch.Batch{
		Number: f.Text("number", 60), Spec: batch.SpecRevision{ID: f.Choice("spec")},
		Planned: f.Whole("planned", 0, 1_000_000), Pattern: f.Text("pattern", 200), Check: batch.CheckSystem(f.Choice("check")), Note: f.Text("note", 500),
	}
	by := f.Choice("by")
	if strings.ContainsAny(b.Number, "/\\?#") {
		f.Field("number").Fail("%q holds one of / \\ ? #; use letters, digits, points, hyphens and spaces.", b.Number)
	}
	serials, err := form.Serials(f.Field("serials").Value, b.Check)
	if err != nil {
		f.RefuseAt("serials", batch.Mendable.Of(err))
	}
	if p := checkPattern(f, b.Pattern); p != nil {
		for _, sn := range serials {
			if !p.MatchString(sn) {
				f.Field("serials").Fail("%s does not fit the pattern %s.", sn, b.Pattern)
			}
		}
	}
	for _, sn := range serials {
		if err := b.Check.Check(sn); err != nil {
			f.RefuseAt("serials", err)
			break
		}
	}
	if b.Planned > 0 && len(serials) > b.Planned {
		f.Field("planned").Fail("%d are planned but %d serial numbers are given.", b.Planned, len(serials))
	}
	if b.Pattern == "" && len(serials) == 0 {
		f.Field("serials").Fail("Neither serial numbers nor a pattern are given: no neck could come to the bench. Give one of them.")
	}
	if f.Ok() {
		opened, err := s.opt.Record.OpenBatch(c.Request.Context(), by, b, serials)
		if err == nil {
			return c.To(site.BatchPath(opened.Number))
		}
		f.Refuse(err)
	}
	return s.showBatches(c, c.Refused(f), f)
}

// checkPattern compiles a pattern that must match a whole serial number; nil when there is none or it is wrong.
func checkPattern(f *form.Form, pattern string) *regexp.Regexp {
	if pattern == "" {
		return nil
	}
	re, err := (&batch.Batch{Pattern: pattern}).SerialPattern()
	if err != nil {
		f.RefuseAt("pattern", batch.Mendable.Of(err))
	}
	return re
}
