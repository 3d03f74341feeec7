package necks

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// sealOf names doubts that a page showed: those of each neck, and how many of their readings are in doubt.
func sealOf(l show.DoubtList, group []batch.NeckDoubts) string {
	h := sha256.New()
	for _, g := range group {
		fmt.Fprintln(h, g.NeckID, g.Doubts)
		for i := range l.Lines {
			if d := &l.Lines[i]; d.Neck.ID == g.NeckID && d.Ended == "" {
				fmt.Fprintln(h, d.ID, len(d.Points))
			}
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}

// stillIn are the doubts that a neck's list shows as standing.
func stillIn(neckID string, l show.DoubtList) []batch.NeckDoubts {
	g := batch.NeckDoubts{NeckID: neckID}
	for i := range l.Lines {
		if l.Lines[i].Ended == "" {
			g.Doubts = append(g.Doubts, l.Lines[i].ID)
		}
	}
	return []batch.NeckDoubts{g}
}

// clearForm asks who clears a neck of doubt, and why.
func (s *server) clearForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.ClearDoubt)
	by.Label = "Cleared by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		by, {Name: "reason", Label: "Reason", Kind: "text", Allowed: "why the readings in doubt do not matter, e.g. measured again with another gauge", Needed: true},
	}}}}, err
}

// clearDoubt clears a neck, by a person's word, of the doubts that the page showed which this was sent from.
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
	if !f.Ok() {
		return s.showNeck(c, c.Refused(f), neck, f)
	}
	list, err := s.doubtsOf(ctx, neck, c.Unit())
	if err != nil {
		return err
	}
	group := stillIn(neck.ID, list)
	if c.PostForm("seal") != sealOf(list, group) {
		f.Refuse(batch.Conflict.Errorf("what this neck is in doubt for is not what the page showed: nothing was cleared. Look at its doubts as they are now, and send it again"))
	} else if err := s.opt.Record.ClearDoubts(ctx, by, reason, group); err != nil {
		f.Refuse(err)
	}
	if !f.Ok() {
		return s.showNeck(c, c.Refused(f), neck, f)
	}
	if s.opt.Bench != nil {
		if err := s.opt.Bench.ReloadDoubt(ctx); err != nil {
			return err
		}
	}
	return c.To(site.NeckPath(neck.Serial))
}
