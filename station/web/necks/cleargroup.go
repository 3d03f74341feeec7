package necks

import (
	"net/http"
	"strconv"

	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// groupForm asks who clears all that still conforms, and why. The seal says which necks, in which doubts, the page showed.
func (s *server) groupForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.ClearDoubt)
	by.Label = "Cleared by"
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{
		by, {Name: "reason", Label: "Reason", Kind: "text", Allowed: "why these necks may go, e.g. they conform with the shift found, whenever it came", Needed: true},
	}}}}
	return f.Apart("group"), err
}

// clearGroup clears every neck of a list that still conforms, by a person's word and under one reason; all or none, and none where the
// page that it was sent from showed another group.
func (s *server) clearGroup(c *site.Request) error {
	p, err := s.callback(c)
	if err != nil {
		return err
	}
	f := p.Form
	f.Fill(c)
	by, reason := f.Choice("by"), f.Text("reason", 300)
	switch {
	case !f.Ok():
	case len(p.Group) == 0:
		f.Refuse(batch.Conflict.Errorf("no neck of this list still conforms now: there is nothing to clear together"))
	case c.PostForm("seal") != p.Seal:
		f.Refuse(batch.Conflict.Errorf("the necks that still conform are not those that the page showed: nothing was cleared. Look at the list as it is now, and send it again"))
	default:
		if err := s.opt.Record.ClearDoubts(c.Request.Context(), by, reason, p.Group); err != nil {
			f.Refuse(err)
			break
		}
		if s.opt.Bench != nil {
			if err := s.opt.Bench.ReloadDoubt(c.Request.Context()); err != nil {
				return err
			}
		}
		return c.To(p.List)
	}
	return s.showCallback(c, c.Refused(f), p)
}

// showCallback shows the page of the list that the address asks for, or all of it.
func (s *server) showCallback(c *site.Request, status int, p callbackPage) error {
	if c.Query("whole") == "" {
		page, _ := strconv.Atoi(c.Query("page")) // what is no number is the first
		p.Page, p.Pages = p.Turn(page, mostCalled)
	}
	return c.Show(status, "callback", p.Title, p)
}

// callbackList shows the list by itself, to be printed, with the form that clears what still conforms.
func (s *server) callbackList(c *site.Request) error {
	p, err := s.callback(c)
	if err != nil {
		return err
	}
	return s.showCallback(c, http.StatusOK, p)
}
