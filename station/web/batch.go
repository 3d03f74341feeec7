package web

import (
	"fmt"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
)

// batchPath is a batch's page.
func batchPath(number string) string { return "/batches/" + url.PathEscape(number) }

// batchPage is one batch: the answer, the pictures, the necks.
type batchPage struct {
	Batch        batch.Batch
	Counts       batch.Counts
	Sentence     string
	Yields       []yield
	Reasons      []reasonRow
	ReasonChart  *chart
	Dispositions []dispositionRow
	Judged       int
	Stats        *batchStats // nil before anything limited is measured
	Necks        neckTable
	OnBench      bool
	Forms        batchForms
	Doubts       doubtList
	Unfinished   int // necks that a closed batch would leave without a release
	Warnings     []string
	Audits       []auditLine   // outgoing, newest first
	Alarms       []batch.Alarm // newest first, acknowledged ones included
	People       []batch.Person
}

func (s *server) batch(c *gin.Context) {
	s.showBatch(c, http.StatusOK, batchForms{})
}

// batchForms are the forms of a batch's page; nil ones are made anew.
type batchForms struct{ Add, Close, Base *form }

// complete makes the forms that are not there.
func (s *server) complete(c *gin.Context, b batch.Batch, f *batchForms) (err error) {
	if f.Add == nil {
		if f.Add, err = s.addForm(c); err != nil {
			return err
		}
	}
	if f.Close == nil {
		if f.Close, err = s.closeForm(c); err != nil {
			return err
		}
	}
	if f.Base == nil {
		f.Base, err = s.baseForm(c, b)
	}
	return err
}

// closeForm asks who closes the batch, addForm for further serial numbers.
func (s *server) closeForm(c *gin.Context) (*form, error) {
	by, err := s.byField(c, batch.QualityManager)
	by.Label = "Closed by"
	return (&form{Groups: []fieldGroup{{Fields: []field{by}}}}).apart("close"), err
}

func (s *server) addForm(c *gin.Context) (*form, error) {
	by, err := s.byField(c, batch.QualityManager)
	by.Label = "Registered by"
	return (&form{Groups: []fieldGroup{{Fields: []field{
		{Name: "serials", Label: "Serial numbers", Kind: "area", Rows: 4, Needed: true, Allowed: "one a line, or first..last"}, by,
	}}}}).apart("add"), err
}

func (s *server) showBatch(c *gin.Context, status int, forms batchForms) {
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		s.fail(c, err)
		return
	}
	if err := s.complete(c, b, &forms); err != nil {
		s.fail(c, err)
		return
	}
	counts, err := s.opt.Record.Counts(c.Request.Context(), b.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	p := batchPage{
		Batch: b, Counts: counts, Yields: yields(counts), Reasons: paretoOf(counts.Reasons, func(name string) string { return necksLink(b.Number, batch.ByReason, name) }),
		Dispositions: dispositionsOf(counts), OnBench: b.Number == s.onBench(), Forms: forms,
		Unfinished: max(counts.Registered, counts.Planned) - counts.MayShip() - counts.Scrap,
	}
	if p.Doubts, err = s.doubtsOf(c.Request.Context(), batch.DoubtFilter{BatchID: b.ID}, "batch="+url.QueryEscape(b.Number)); err != nil {
		s.fail(c, err)
		return
	}
	p.ReasonChart = paretoChart("reasons-chart", p.Reasons, "necks whose first inspection failed, by the first failing characteristic")
	audits, err := s.opt.Record.OutgoingAudits(c.Request.Context(), b.ID)
	if err != nil {
		s.fail(c, err)
		return
	}
	p.Audits = auditLines(audits)
	p.Sentence = withNote(shipSentence(counts), outgoingNote(counts))
	if p.Alarms, err = s.opt.Record.BatchAlarms(c.Request.Context(), b.ID); err != nil {
		s.fail(c, err)
		return
	}
	if p.People, err = s.opt.Record.People(c.Request.Context()); err != nil {
		s.fail(c, err)
		return
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
	if p.Necks, err = s.pageOfNecks(c, b); err != nil {
		s.fail(c, err)
		return
	}
	if p.Stats, err = s.statsOf(c, b, counts); err != nil {
		s.fail(c, err)
		return
	}
	s.render(c, status, "batch", "Batch "+b.Number, p)
}

// coarseWarnings names the limits that a gauge is too coarse for: its U (2 u) is over a quarter of the tolerance.
func coarseWarnings(spec *inspect.Spec, gauges []batch.Gauge, lengths unit.Unit) []string {
	var warnings []string
	for _, g := range gauges {
		if g.RetiredAt.IsZero() {
			for _, name := range coarseLimits(spec, g) {
				warnings = append(warnings, fmt.Sprintf("The %s is too coarse for %s: its U of %s is over a quarter of the tolerance.", g.Name, name, fineLength(2*g.U(), lengths)+" "+lengths.String()))
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
	s.showBatch(c, http.StatusUnprocessableEntity, batchForms{Add: f})
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
	s.showBatch(c, http.StatusUnprocessableEntity, batchForms{Close: f})
}
