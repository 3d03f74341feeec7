package specs

import (
	"net/http"
	"net/url"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/station/bench/routine"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// reviewPage says what would be saved.
type reviewPage struct {
	From     string
	Template string
	Title    string // "QM Bolt 648, revision C"
	Against  string // the revision that it is compared with, "" for none
	Sentence string
	Changes  []tell.Revised
	Lasts    routineLasts
	Remarks  string
	Text     string
	Form     *form.Form
}

// review shows what a specification changes against the revision it came from, or the newest of its name.
func (s *server) review(c *site.Request, from string, sh *sheet) error {
	f, err := s.saveForm(c)
	if err != nil {
		return err
	}
	text, kept := sh.written()
	return s.showReview(c, http.StatusOK, reviewPage{From: from, Text: text, Form: f, Remarks: show.Pick(kept, "", "The text is written anew: the remarks that stood in it go.")}, sh.spec)
}

// saveForm asks who releases a revision and why.
func (s *server) saveForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.ReleaseSpec)
	by.Label = "Released by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "reason", Label: "Reason for the change", Kind: "text", Allowed: "in a sentence; it is kept with the revision", Needed: true, Value: c.PostForm("reason")},
		by,
	}}}}, err
}

// lastRevision is the revision that a specification is compared with before it is saved: the one that it came from, or the newest of
// its name; nil where there is none.
func (s *server) lastRevision(c *site.Request, from string, spec *inspect.Spec) (*specLine, error) {
	all, err := s.specLines(c)
	if err != nil {
		return nil, err
	}
	for i := range all {
		if all[i].ID == from {
			return &all[i], nil
		}
	}
	for i := range all {
		if all[i].Name == spec.Name {
			return &all[i], nil
		}
	}
	return nil, nil
}

func (s *server) showReview(c *site.Request, status int, p reviewPage, spec *inspect.Spec) error {
	last, err := s.lastRevision(c, p.From, spec)
	if err != nil {
		return err
	}
	gauges, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	p.Template = c.PostForm("template")
	p.Title = spec.Name + ", revision " + spec.Revision
	p.Lasts.Now = tell.RoutineLasts(routine.Lasts(spec, gauges))
	if last == nil {
		p.Sentence = p.Title + " is new: there is nothing to compare it with."
		p.Form.Groups[0].Fields = p.Form.Groups[0].Fields[1:]
		return c.Show(status, "specreview", "Save "+p.Title, p)
	}
	p.Against = last.Name + ", revision " + last.Revision
	p.Changes = tell.SpecChanges(last.Spec, spec, c.Unit())
	p.Lasts.Was = tell.RoutineLasts(routine.Lasts(last.Spec, gauges))
	p.Sentence = tell.Counted(len(p.Changes), "change", "changes") + " against " + p.Against + "."
	if len(p.Changes) == 0 {
		p.Sentence = "Nothing that is measured or judged differs from " + p.Against + "."
	}
	if last.Name == spec.Name && last.Revision == spec.Revision && !last.FrozenAt.IsZero() {
		p.Form.Error = p.Against + ", is frozen: a batch is judged by it. Go back and give this one another revision."
	}
	return c.Show(status, "specreview", "Save "+p.Title, p)
}

// save keeps a specification's text that was read and found right. A revision of what is on file needs a reason: without one, or
// where it cannot be kept, what it changes is shown again with the text and all that was typed.
func (s *server) save(c *site.Request, file string, text []byte) error {
	spec, err := files.ReadSpec(file, text)
	if err != nil {
		return err
	}
	from := c.PostForm("edit")
	last, err := s.lastRevision(c, from, spec)
	if err != nil {
		return err
	}
	f, err := s.saveForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	reason := strings.TrimSpace(c.PostForm("reason"))
	if last != nil && last.Text != string(text) {
		reason = f.Text("reason", 500)
	}
	by := f.Choice("by")
	if f.Ok() {
		added, err := s.opt.Record.AddSpec(c.Request.Context(), by, reason, file, text)
		if err == nil {
			return c.To("/specs/" + url.PathEscape(added.ID))
		}
		f.Refuse(err)
	}
	return s.showReview(c, c.Refused(f), reviewPage{From: from, Text: string(text), Form: f}, spec)
}
