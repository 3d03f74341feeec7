package web

import (
	"net/http"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/bench"
)

// baseForm asks for the necks that a batch's control limits are computed from, counted in the order of inspection.
func (s *server) baseForm(c *gin.Context, b batch.Batch) (*form, error) {
	now, err := s.opt.Record.Base(c.Request.Context(), b.ID)
	if err != nil {
		return nil, err
	}
	by, err := s.byField(c, batch.QualityManager)
	by.Label = "Frozen by"
	return (&form{Groups: []fieldGroup{{Fields: []field{
		{Name: "first", Label: "From neck", Kind: "number", Allowed: "1 to 1000000", Needed: true, Value: strconv.Itoa(now.First)},
		{Name: "last", Label: "To neck", Kind: "number", Allowed: "1 to 1000000, after the first", Needed: true, Value: strconv.Itoa(now.Last)},
		{Name: "reason", Label: "Reason", Kind: "text", Allowed: "up to 300 characters"}, by,
	}}}}).apart("base"), err
}

// freezeBase states the necks that control limits are computed from.
func (s *server) freezeBase(c *gin.Context) {
	b, err := s.opt.Record.Batch(c.Request.Context(), c.Param("number"))
	if err != nil {
		s.fail(c, err)
		return
	}
	f, err := s.baseForm(c, b)
	if err != nil {
		s.fail(c, err)
		return
	}
	f.fill(c)
	first, last := f.whole("first", 1, 1_000_000), f.whole("last", 1, 1_000_000)
	by, reason := f.choice("by"), f.text("reason", 300)
	if f.ok() {
		err := s.opt.Record.FreezeBase(c.Request.Context(), by, b.ID, first, last, reason)
		if err == nil {
			c.Redirect(http.StatusSeeOther, batchPath(b.Number)+"?"+url.Values{"of": {c.Query("of")}}.Encode()+"#chart")
			return
		}
		f.field("last").fail("%s", bench.Sentence(err))
	}
	s.showBatch(c, http.StatusUnprocessableEntity, batchForms{Base: f})
}
