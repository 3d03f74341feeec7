package batches

import (
	"net/http"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// batchPage is the answer: how the batch stands, the picture of its yields, what waits, and the ways to its layers.
type batchPage struct {
	batchHead
	Lot          string // sentences: what the outgoing audit that the lot stands under means for shipping
	Yields       []show.Yield
	Dispositions []dispositionRow
	Judged       int
	Reasons      []show.ReasonRow
	OnBench      bool
	Close        *form.Form
	Unfinished   int // necks that a closed batch would leave without a release
	Warnings     []string
	Signatures   []string
	Audits       []show.AuditLine // outgoing, newest first
	Open         []batch.Alarm    // nobody has acknowledged them; newest first
	Acknowledged []batch.Alarm
	People       []batch.Person
	Paper        neckTable // for the second sheet
}

func (s *server) batchPage(c *site.Request) error {
	if layer := layerAsked(c.Request.URL.Query()); layer != "" {
		return c.To(site.BatchPath(c.Param("number")) + "/" + layer + "?" + c.Request.URL.RawQuery)
	}
	return s.showBatch(c, http.StatusOK, nil)
}

// closeForm asks who closes the batch, addForm for further serial numbers.
func (s *server) closeForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.CloseBatch)
	by.Label = "Closed by"
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{by}}}}).Apart("close"), err
}

func (s *server) addForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.OpenBatch)
	by.Label = "Registered by"
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "serials", Label: "Serial numbers", Kind: "area", Rows: 4, Needed: true, Allowed: "one a line, or first..last"}, by,
	}}}}).Apart("add"), err
}

func (s *server) showBatch(c *site.Request, status int, closing *form.Form) error {
	h, err := s.headOf(c, "")
	if err != nil {
		return err
	}
	b, ctx := h.Batch, c.Request.Context()
	p := batchPage{
		batchHead: h, Lot: tell.Lot(h.Counts), Yields: show.YieldsOf(h.Firsts), Dispositions: dispositionsOf(h.Counts), Reasons: firstReasons(b, h.Firsts),
		OnBench: b.Number == s.onBench(), Close: closing, Unfinished: max(h.Counts.Registered, h.Counts.Planned) - h.Counts.MayShip() - h.Counts.Scrap,
	}
	if p.Close == nil {
		if p.Close, err = s.closeForm(c); err != nil {
			return err
		}
	}
	audits, err := s.opt.Record.OutgoingAudits(ctx, b.ID)
	if err != nil {
		return err
	}
	p.Audits = show.AuditLines(audits)
	alarms, err := s.opt.Record.BatchAlarms(ctx, b.ID)
	if err != nil {
		return err
	}
	for _, a := range alarms {
		if a.AcknowledgedAt.IsZero() {
			p.Open = append(p.Open, a)
		} else {
			p.Acknowledged = append(p.Acknowledged, a)
		}
	}
	if p.People, err = s.opt.Record.People(ctx); err != nil {
		return err
	}
	if p.Signatures, err = show.SignaturesOf(ctx, s.opt.Record, b.Number, nil); err != nil {
		return err
	}
	for _, d := range p.Dispositions {
		p.Judged += d.Necks
	}
	gauges, err := s.opt.Record.Gauges(ctx)
	if err != nil {
		return err
	}
	p.Warnings = append(show.Unmeasurable(b.Spec.Spec), show.CoarseWarnings(b.Spec.Spec, gauges, c.Unit())...)
	if p.Paper, err = s.pageOfNecks(c, b); err != nil {
		return err
	}
	return c.Show(status, "batch", h.title(), p)
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
	serials, err := form.Serials(f.Field("serials").Value, b.Check)
	switch {
	case err != nil:
		f.RefuseAt("serials", batch.Mendable.Of(err))
	case len(serials) == 0:
		f.Field("serials").Fail("Nothing is here. Give one serial number a line, or first..last.")
	}
	if f.Ok() {
		if _, err = s.opt.Record.AddNecks(c.Request.Context(), by, b.ID, serials); err == nil {
			return c.To(site.BatchPath(b.Number) + "/necks")
		}
		f.RefuseAt("serials", err)
	}
	return s.showNecks(c, c.Refused(f), f)
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
	return s.showBatch(c, c.Refused(f), f)
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
