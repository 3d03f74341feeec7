package outgoing

import (
	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// leftMost is how many necks of a rejected lot a page lists.
const leftMost = 200

// lotLeft is what a rejected lot waits for before another sample is drawn from it.
type lotLeft struct {
	Stands  string     // how far it is, without a full stop
	Serials []string   // of necks that were not inspected again, the first leftMost
	More    int        // such necks beside them
	Release *form.Form // states what was done instead; nil once another sample may be drawn
}

// left is what the lot that an audit rejected waits for; nil where the lot does not stand rejected by it. typed is the form that was
// refused, nil for a new one.
func (s *server) left(c *site.Request, a batch.OutgoingAudit, counts batch.Counts, typed *form.Form) (*lotLeft, error) {
	if a.State != batch.OutgoingRejected || counts.Audit == nil || counts.Audit.ID != a.ID {
		return nil, nil
	}
	l := &lotLeft{Stands: tell.Upper(tell.Rejected(counts)), Release: typed}
	if counts.MayDraw() {
		l.Release = nil
		return l, nil
	}
	var err error
	if l.Serials, err = s.opt.Record.LeftOfLot(c.Request.Context(), a.BatchID); err != nil {
		return nil, err
	}
	if n := len(l.Serials); n > leftMost {
		l.Serials, l.More = l.Serials[:leftMost], n-leftMost
	}
	if typed == nil {
		l.Release, err = s.releaseForm(c)
	}
	return l, err
}

// releaseForm asks what was done with a rejected lot, and who states it.
func (s *server) releaseForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.SignAudit)
	by.Label = "Stated by"
	done := form.Field{Name: "done", Label: "What was done with the lot", Kind: "text", Allowed: "e.g. which necks were sorted out, and how the others were checked", Needed: true}
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{done, by}}}}
	return f.Apart("release"), err
}

// releaseLot keeps what a quality manager states was done with a rejected lot.
func (s *server) releaseLot(c *site.Request) error {
	f, err := s.releaseForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	by, done := f.Choice("by"), f.Text("done", longestNote)
	if f.Ok() {
		a, err := s.opt.Record.ReleaseLot(c.Request.Context(), by, c.Param("audit"), done)
		if err == nil {
			return c.To(site.AuditPath(a))
		}
		if batch.KindOf(err) == batch.Conflict { // stated or drawn from by another, so that the form is not shown any more
			return s.showOutgoing(c, c.StatusOf(err), outgoingForms{problem: form.Sentence(err)})
		}
		f.Refuse(err)
	}
	return s.showOutgoing(c, c.Refused(f), outgoingForms{release: f})
}
