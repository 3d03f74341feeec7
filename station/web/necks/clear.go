package necks

import (
	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// clearForm asks who clears a neck of doubt, and why.
func (s *server) clearForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.QualityManager)
	by.Label = "Cleared by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		by, {Name: "reason", Label: "Reason", Kind: "text", Allowed: "why the readings in doubt do not matter, e.g. measured again with another gauge", Needed: true},
	}}}}, err
}

// clearDoubt clears a neck of doubt by a person's word.
func (s *server) clearDoubt(c *site.Request) error {
	ctx := c.Request.Context()
	neck, err := s.opt.Record.Neck(ctx, c.Param("serial"))
	if err != nil {
		return err
	}
	f, err := s.clearForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, reason := f.Choice("by"), f.Text("reason", 300)
	if f.Ok() {
		if err := s.opt.Record.ClearDoubt(ctx, by, neck.ID, reason); err == nil {
			if s.opt.Bench != nil {
				if err := s.opt.Bench.ReloadDoubt(ctx); err != nil {
					return err
				}
			}
			return c.To(site.NeckPath(neck.Serial))
		} else {
			f.Refuse(err)
		}
	}
	return s.showNeck(c, c.Refused(f), neck, f)
}
