package web

import (
	"fmt"
	"net/http"
	"regexp"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
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
			BatchRow: r, Sentence: withNote(shipSentence(r.Counts), outgoingNote(r.Counts)), MayShip: r.Counts.MayShip(),
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
