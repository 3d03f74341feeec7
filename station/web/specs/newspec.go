package specs

import (
	"net/http"
	"slices"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/station/web/site"
)

// newSpec offers what a specification may begin from, and shows the template that was chosen as a form.
func (s *server) newSpec(c *site.Request) error {
	name := c.Query("template")
	if name == "" {
		return c.Show(http.StatusOK, "specnew", "A new specification", instrument.Templates())
	}
	t := templateOf(name)
	if t == nil {
		return batch.Absent.Errorf("There is no template %q.", name)
	}
	sh, err := openSheet(t.Text, c.Unit())
	if err != nil {
		return err
	}
	return s.showSheet(c, http.StatusOK, sh, sheetPage{Template: name, Note: "Begun from the template " + t.Title + ": " + t.For + ". Where its figures are from stands under them: yours, a usual one to be replaced by your model's; practice, common practice of the trade without a source; estimate, from memory or worked out. Lengths in these remarks are mm."})
}

// templateOf finds a template by name, nil where there is none.
func templateOf(name string) *instrument.Template {
	for _, t := range instrument.Templates() {
		if t.Name == name {
			return &t
		}
	}
	return nil
}

// nextRevision is a revision that the specification does not have yet: B after A, 10 after 9, A1 after A where B is taken.
func nextRevision(line specLine, all []specLine) string {
	taken := func(revision string) bool {
		return slices.ContainsFunc(all, func(l specLine) bool { return l.Name == line.Name && l.Revision == revision })
	}
	next := line.Revision
	for range 1000 {
		next = follows(next)
		if !taken(next) {
			return next
		}
	}
	return line.Revision
}

// follows counts a revision on by its last letter or figure.
func follows(revision string) string {
	if revision == "" {
		return "A"
	}
	head, last := revision[:len(revision)-1], revision[len(revision)-1]
	switch {
	case last >= '0' && last < '9', last >= 'A' && last < 'Z', last >= 'a' && last < 'z':
		return head + string(last+1)
	case last == '9' && head == "":
		return "10"
	case last == '9':
		return follows(head) + "0"
	}
	return revision + "1"
}
