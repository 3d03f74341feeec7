package batches

import (
	"net/http"
	"net/url"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// batchPage is one batch: the answer, the pictures, the necks.
type batchPage struct {
	Batch        batch.Batch
	Counts       batch.Counts
	Sentence     string
	Lot          string // sentences: what the outgoing audit that the lot stands under means for shipping
	Yields       []show.Yield
	Reasons      []show.ReasonRow
	ReasonChart  *show.Chart
	Dispositions []dispositionRow
	Judged       int
	Stats        *batchStats // nil before anything limited is measured
	Necks        neckTable
	OnBench      bool
	Forms        batchForms
	Doubts       show.DoubtList
	Unfinished   int // necks that a closed batch would leave without a release
	Warnings     []string
	Audits       []show.AuditLine // outgoing, newest first
	Alarms       []batch.Alarm    // newest first, acknowledged ones included
	People       []batch.Person
}

func (s *server) batchPage(c *site.Request) error {
	return s.showBatch(c, http.StatusOK, batchForms{})
}

// batchForms are the forms of a batch's page; nil ones are made anew.
type batchForms struct{ Add, Close, Base *form.Form }

// complete makes the forms that are not there.
func (s *server) complete(c *site.Request, b batch.Batch, f *batchForms) (err error) {
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
func (s *server) closeForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.QualityManager)
	by.Label = "Closed by"
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{by}}}}).Apart("close"), err
}

func (s *server) addForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.QualityManager)
	by.Label = "Registered by"
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "serials", Label: "Serial numbers", Kind: "area", Rows: 4, Needed: true, Allowed: "one a line, or first..last"}, by,
	}}}}).Apart("add"), err
}

func (s *server) showBatch(c *site.Request, status int, forms batchForms) error {
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		return err
	}
	if err := s.complete(c, b, &forms); err != nil {
		return err
	}
	counts, err := s.opt.Record.Counts(c.Request.Context(), b.ID)
	if err != nil {
		return err
	}
	p := batchPage{
		Batch: b, Counts: counts, Yields: show.YieldsOf(counts), Reasons: show.ParetoOf(counts.Reasons, func(name string) string { return site.NecksPath(b.Number, batch.ByReason, name) }),
		Dispositions: dispositionsOf(counts), OnBench: b.Number == s.onBench(), Forms: forms,
		Unfinished: max(counts.Registered, counts.Planned) - counts.MayShip() - counts.Scrap,
	}
	if p.Doubts, err = show.DoubtsOf(c.Request.Context(), s.opt.Record, batch.DoubtFilter{BatchID: b.ID}, "batch="+url.QueryEscape(b.Number), s.opt.Now()); err != nil {
		return err
	}
	p.ReasonChart = show.ParetoChart("reasons-chart", p.Reasons, "necks whose first inspection failed, by the first failing characteristic")
	audits, err := s.opt.Record.OutgoingAudits(c.Request.Context(), b.ID)
	if err != nil {
		return err
	}
	p.Audits = show.AuditLines(audits)
	p.Sentence, p.Lot = tell.Batch(counts), tell.Lot(counts)
	if p.Alarms, err = s.opt.Record.BatchAlarms(c.Request.Context(), b.ID); err != nil {
		return err
	}
	if p.People, err = s.opt.Record.People(c.Request.Context()); err != nil {
		return err
	}
	for _, d := range p.Dispositions {
		p.Judged += d.Necks
	}
	gauges, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	p.Warnings = append(show.Unmeasurable(b.Spec.Spec), show.CoarseWarnings(b.Spec.Spec, gauges, c.Unit())...)
	if p.Necks, err = s.pageOfNecks(c, b); err != nil {
		return err
	}
	if p.Stats, err = s.statsOf(c, b, counts); err != nil {
		return err
	}
	return c.Show(status, "batch", "Batch "+b.Number, p)
}

func (s *server) addNecks(c *site.Request) error {
	f, err := s.addForm(c)
	if err != nil {
		return err
	}
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		return err
	}
	f.Fill(c)
	by := f.Choice("by")
	serials, err := form.Serials(f.Field("serials").Value)
	switch {
	case err != nil:
		f.RefuseAt("serials", batch.Mendable.Of(err))
	case len(serials) == 0:
		f.Field("serials").Fail("Nothing is here. Give one serial number a line, or first..last.")
	}
	if f.Ok() {
		if _, err = s.opt.Record.AddNecks(c.Request.Context(), by, b.ID, serials); err == nil {
			return c.To(site.BatchPath(b.Number) + "#necks")
		}
		f.RefuseAt("serials", err)
	}
	return s.showBatch(c, c.Refused(f), batchForms{Add: f})
}

func (s *server) closeBatch(c *site.Request) error {
	f, err := s.closeForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by := f.Choice("by")
	if f.Ok() {
		if err = s.opt.Record.CloseBatch(c.Request.Context(), by, c.Param("number")); err == nil {
			return c.To(site.BatchPath(c.Param("number")))
		}
		f.Refuse(err)
	}
	return s.showBatch(c, c.Refused(f), batchForms{Close: f})
}

// onBench is the number of the batch that the bench works on, "" when none.
func (s *server) onBench() string {
	if s.opt.Bench == nil {
		return ""
	}
	if b := s.opt.Bench.Snapshot().Batch; b != nil {
		return b.Number
	}
	return ""
}
