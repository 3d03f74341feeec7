package batches

import (
	"strconv"

	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// baseForm asks for the necks that a batch's control limits are computed from, counted in the order of inspection.
func (s *server) baseForm(c *site.Request, b batch.Batch) (*form.Form, error) {
	now, err := s.opt.Record.Base(c.Request.Context(), b.ID)
	if err != nil {
		return nil, err
	}
	by, err := c.ByField(batch.Freeze)
	by.Label = "Frozen by"
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "first", Label: "From neck", Kind: "number", Allowed: "1 to 1000000", Needed: true, Value: strconv.Itoa(now.First)},
		{Name: "last", Label: "To neck", Kind: "number", Allowed: "1 to 1000000, after the first", Needed: true, Value: strconv.Itoa(now.Last)},
		{Name: "reason", Label: "Reason", Kind: "text", Allowed: "up to 300 characters"}, by,
	}}}}).Apart("base"), err
}

// freezeBase states the necks that control limits are computed from.
func (s *server) freezeBase(c *site.Request) error {
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		return err
	}
	f, err := s.baseForm(c, b)
	if err != nil {
		return err
	}
	f.Fill(c)
	first, last := f.Whole("first", 1, 1_000_000), f.Whole("last", 1, 1_000_000)
	by, reason := f.Choice("by"), f.Text("reason", 300)
	if f.Ok() {
		err := s.opt.Record.FreezeBase(c.Request.Context(), by, b.ID, first, last, reason)
		if err == nil {
			return c.To(site.ChartPath(b.Number, c.Query("of")))
		}
		f.RefuseAt("last", err)
	}
	return s.showCharts(c, c.Refused(f), f)
}
