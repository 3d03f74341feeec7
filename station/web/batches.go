package web

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
)

// batchesPage lists the batches, open ones first, with the form for a new one.
type batchesPage struct {
	Sentence     string
	Open, Closed []batchLine
	Form         *form
	CanOpen      bool     // there is a specification to open a batch against
	ToDo         string   // what is missing for it
	Warnings     []string // of specifications with limits that are never measured
}

// batchLine is one row of the tables of batches.
type batchLine struct {
	batch.BatchRow
	Sentence string
	MayShip  int
	First    yield
	OnBench  bool
}

// openForm is the form for a new batch.
func (s *server) openForm(c *gin.Context) (*form, error) {
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return nil, err
	}
	revisions := []option{{"", "choose a specification", true}}
	for _, sp := range specs {
		revisions = append(revisions, option{sp.ID, sp.Name + ", revision " + sp.Revision, false})
	}
	by, err := s.byField(c, batch.QualityManager)
	if err != nil {
		return nil, err
	}
	return &form{Groups: []fieldGroup{{Fields: []field{
		{Name: "number", Label: "Batch number", Kind: "text", Allowed: "not used before, e.g. AB-26", Needed: true},
		{Name: "spec", Label: "Specification", Kind: "select", Allowed: "opening the batch freezes this revision", Options: revisions, Needed: true},
		{Name: "planned", Label: "Necks planned", Kind: "number", Unit: "necks", Allowed: "0 to 1000000; 0: open-ended"},
		{Name: "serials", Label: "Serial numbers", Kind: "area", Rows: 6, Allowed: "one a line, or first..last, e.g. AB-0001..AB-0030; more can be added later"},
		{Name: "pattern", Label: "Pattern of serial numbers", Kind: "text", Allowed: `a regular expression, e.g. AB-\d{4}; with it any serial number that fits may come to the bench; empty: only registered ones`},
		{Name: "note", Label: "Note", Kind: "text", Allowed: "up to 500 characters"},
		by,
	}}}}, nil
}

func (s *server) batches(c *gin.Context) {
	f, err := s.openForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	s.showBatches(c, http.StatusOK, f)
}

func (s *server) showBatches(c *gin.Context, status int, f *form) {
	rows, err := s.opt.Record.Batches(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	now := s.onBench()
	p := batchesPage{Form: f, Warnings: unmeasurableOf(specs), CanOpen: len(f.field("spec").Options) > 1}
	may, of := 0, 0
	for _, r := range rows {
		line := batchLine{
			BatchRow: r, Sentence: shipSentence(r.Counts), MayShip: r.Counts.Passed + r.Counts.Concession,
			First: yields(r.Counts)[0], OnBench: r.Number == now,
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
		p.Sentence = fmt.Sprintf("No batch is open; %s.", counted(len(p.Closed), "is closed", "are closed"))
	default:
		p.Sentence = fmt.Sprintf("%s open; %d of %d necks in %s may ship.", counted(len(p.Open), "batch is", "batches are"), may, of, pick(len(p.Open) == 1, "it", "them"))
	}
	if !p.CanOpen {
		p.ToDo = "A batch is judged against a specification, and none is on file. Import one first."
	} else if len(f.field("by").Options) < 2 {
		p.ToDo = "A quality manager opens a batch, and none is on file. Add one on the page People."
	}
	s.render(c, status, "batches", "Batches", p)
}

func (s *server) openBatch(c *gin.Context) {
	f, err := s.openForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	b := batch.Batch{
		Number: f.text("number", 60), Spec: batch.SpecRevision{ID: f.choice("spec")},
		Planned: f.whole("planned", 0, 1_000_000), Pattern: f.text("pattern", 200), Note: f.text("note", 500),
	}
	by := f.choice("by")
	if strings.ContainsAny(b.Number, "/\\?#") {
		f.field("number").fail("%q holds one of / \\ ? #; use letters, digits, points, hyphens and spaces.", b.Number)
	}
	serials, err := parseSerials(f.field("serials").Value)
	if err != nil {
		f.field("serials").fail("%s", bench.Sentence(err))
	}
	if p := checkPattern(f, b.Pattern); p != nil {
		for _, sn := range serials {
			if !p.MatchString(sn) {
				f.field("serials").fail("%s does not fit the pattern %s.", sn, b.Pattern)
			}
		}
	}
	if b.Planned > 0 && len(serials) > b.Planned {
		f.field("planned").fail("%d are planned but %d serial numbers are given.", b.Planned, len(serials))
	}
	if b.Pattern == "" && len(serials) == 0 {
		f.field("serials").fail("Neither serial numbers nor a pattern are given: no neck could come to the bench. Give one of them.")
	}
	if f.ok() {
		opened, err := s.opt.Record.OpenBatch(c.Request.Context(), by, b, serials)
		if err == nil {
			c.Redirect(http.StatusSeeOther, batchPath(opened.Number))
			return
		}
		f.Error = bench.Sentence(err)
	}
	s.showBatches(c, http.StatusUnprocessableEntity, f)
}

// checkPattern compiles a pattern that must match a whole serial number; nil when there is none or it is wrong.
func checkPattern(f *form, pattern string) *regexp.Regexp {
	if pattern == "" {
		return nil
	}
	re, err := (&batch.Batch{Pattern: pattern}).SerialPattern()
	if err != nil {
		f.field("pattern").fail("%s", bench.Sentence(err))
	}
	return re
}

// batchPath is a batch's page.
func batchPath(number string) string { return "/batches/" + url.PathEscape(number) }

// batchPage is one batch: the answer, the pictures, the necks.
type batchPage struct {
	Batch        batch.Batch
	Counts       batch.Counts
	Sentence     string
	Yields       []yield
	Reasons      []reasonRow
	Dispositions []dispositionRow
	Judged       int
	Necks        []neckLine
	Shown        string // "rows 1 to 500 of 12000" when the table does not hold them all
	Query        string
	Page, Pages  int
	OnBench      bool
	AddForm      *form
	CloseForm    *form
	Unfinished   int // necks that a closed batch would leave without a release
	Warnings     []string
}

// neckLine is one row of the table of necks.
type neckLine struct {
	batch.NeckRow
	State   string // word for where it stands
	Failing string
}

// necksShown is how many necks one page of the table holds.
const necksShown = 500

func (s *server) batch(c *gin.Context) {
	s.showBatch(c, http.StatusOK, nil, nil)
}

// closeForm asks who closes the batch, addForm for further serial numbers.
func (s *server) closeForm(c *gin.Context) (*form, error) {
	by, err := s.byField(c, batch.QualityManager)
	by.Label = "Closed by"
	return &form{Groups: []fieldGroup{{Fields: []field{by}}}}, err
}

func (s *server) addForm(c *gin.Context) (*form, error) {
	by, err := s.byField(c, batch.QualityManager)
	by.Label = "Registered by"
	return &form{Groups: []fieldGroup{{Fields: []field{
		{Name: "serials", Label: "Serial numbers", Kind: "area", Rows: 4, Needed: true, Allowed: "one a line, or first..last"}, by,
	}}}}, err
}

func (s *server) showBatch(c *gin.Context, status int, add, closing *form) {
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		s.fail(c, err)
		return
	}
	if add == nil {
		if add, err = s.addForm(c); err != nil {
			s.fail(c, err)
			return
		}
	}
	if closing == nil {
		if closing, err = s.closeForm(c); err != nil {
			s.fail(c, err)
			return
		}
	}
	counts, err := s.opt.Record.Counts(c.Request.Context(), b.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	necks, err := s.opt.Record.Necks(c.Request.Context(), b.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := batchPage{
		Batch: b, Counts: counts, Sentence: shipSentence(counts), Yields: yields(counts), Reasons: paretoOf(counts.Reasons),
		Dispositions: dispositionsOf(counts), OnBench: b.Number == s.onBench(), AddForm: add, CloseForm: closing,
		Query: strings.TrimSpace(c.Query("q")), Unfinished: max(counts.Registered, counts.Planned) - counts.Passed - counts.Concession - counts.Scrap,
	}
	for _, d := range p.Dispositions {
		p.Judged += d.Necks
	}
	gauges, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Warnings = append(unmeasurable(b.Spec.Spec), coarseWarnings(b.Spec.Spec, gauges, unitOf(c))...)
	s.pageOfNecks(c, &p, necks)
	s.render(c, status, "batch", "Batch "+b.Number, p)
}

// pageOfNecks picks the necks that match the query and lie on the page asked for.
func (s *server) pageOfNecks(c *gin.Context, p *batchPage, necks []batch.NeckRow) {
	lines := neckLines(necks)
	if q := strings.ToLower(p.Query); q != "" {
		lines = slices.DeleteFunc(lines, func(n neckLine) bool {
			return !strings.Contains(strings.ToLower(n.Serial+" "+n.State+" "+n.Failing+" "+n.Inspector), q)
		})
	}
	p.Pages = max(1, (len(lines)+necksShown-1)/necksShown)
	p.Page = 1
	if _, err := fmt.Sscan(c.Query("page"), &p.Page); err != nil || p.Page < 1 || p.Page > p.Pages {
		p.Page = 1
	}
	from := (p.Page - 1) * necksShown
	to := min(len(lines), from+necksShown)
	if p.Pages > 1 || p.Query != "" {
		p.Shown = fmt.Sprintf("Necks %d to %d of %d", min(from+1, len(lines)), to, len(lines))
		if p.Query != "" {
			p.Shown += fmt.Sprintf(" that match %q", p.Query)
		}
	}
	p.Necks = lines[from:to]
}

// neckLines puts rows of the record in words.
func neckLines(rows []batch.NeckRow) []neckLine {
	lines := make([]neckLine, len(rows))
	for i, r := range rows {
		lines[i] = neckLine{NeckRow: r, State: neckState(r), Failing: spaced(r.FirstFailing)}
	}
	return lines
}

// neckState says where a neck stands: its disposition, or what it waits for.
func neckState(r batch.NeckRow) string {
	switch {
	case r.State == batch.Open:
		return "on the bench"
	case r.State == batch.Parked:
		return "parked"
	case r.Disposition != "":
		return string(r.Disposition)
	case r.Attempts > 0:
		return "no verdict"
	}
	return "not inspected"
}

// coarseWarnings names the limits that a gauge is too coarse for: its U (2 u) is over a quarter of the tolerance.
func coarseWarnings(spec *inspect.Spec, gauges []batch.Gauge, unit Unit) []string {
	var warnings []string
	for _, g := range gauges {
		if g.RetiredAt.IsZero() {
			for _, name := range coarseLimits(spec, g) {
				warnings = append(warnings, fmt.Sprintf("The %s is too coarse for %s: its U of %s is over a quarter of the tolerance.", g.Name, name, fineLength(2*g.U(), unit)+" "+unit.String()))
			}
		}
	}
	return warnings
}

func (s *server) addNecks(c *gin.Context) {
	f, err := s.addForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	by := f.choice("by")
	serials, err := parseSerials(f.field("serials").Value)
	switch {
	case err != nil:
		f.field("serials").fail("%s", bench.Sentence(err))
	case len(serials) == 0:
		f.field("serials").fail("Nothing is here. Give one serial number a line, or first..last.")
	}
	if f.ok() {
		if _, err = s.opt.Record.AddNecks(c.Request.Context(), by, b.ID, serials); err == nil {
			c.Redirect(http.StatusSeeOther, batchPath(b.Number)+"#necks")
			return
		}
		f.field("serials").fail("%s", bench.Sentence(err))
	}
	s.showBatch(c, http.StatusUnprocessableEntity, f, nil)
}

func (s *server) closeBatch(c *gin.Context) {
	f, err := s.closeForm(c)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	by := f.choice("by")
	if f.ok() {
		if err = s.opt.Record.CloseBatch(c.Request.Context(), by, c.Param("number")); err == nil {
			c.Redirect(http.StatusSeeOther, batchPath(c.Param("number")))
			return
		}
		f.Error = bench.Sentence(err)
	}
	s.showBatch(c, http.StatusUnprocessableEntity, nil, f)
}
