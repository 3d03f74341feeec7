package specs

import (
	"errors"
	"fmt"
	"net/http"
	"strings"

	"sagitta/batch"
	"sagitta/batch/files"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// maxSpec is the largest specification file taken, bytes.
const maxSpec = 1 << 20

// specForm takes a specification as a file or as text.
func (s *server) specForm(c *site.Request, text string) (*form.Form, error) {
	by, err := c.ByField(batch.ReleaseSpec)
	by.Label = "Released by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "file", Label: "Specification file", Kind: "file", Allowed: "a .toml file up to 1 MB; taken instead of the text below"},
		{Name: "text", Label: "Specification text", Kind: "area", Rows: 18, Allowed: "TOML, one specification", Value: text},
		by,
	}}}}, err
}

// addSpec imports a specification; what is wrong with it is said by line and key, and the text stays.
func (s *server) addSpec(c *site.Request) error {
	f, err := s.specForm(c, "")
	if err != nil {
		return err
	}
	f.Fill(c)
	file, text := "the text", []byte(strings.ReplaceAll(f.Field("text").Value, "\r\n", "\n"))
	if name, data, err := site.Upload(c, "file", maxSpec); err != nil {
		f.RefuseAt("file", err)
	} else if data != nil {
		file, text = name, data
		f.Field("text").Value = string(data)
	}
	if c.PostForm("reviewed") == "" { // where it was, what is left to be said is asked for there
		f.Choice("by")
	}
	switch {
	case len(strings.TrimSpace(string(text))) == 0 && f.Ok():
		f.Field("text").Fail("Nothing is here. Choose a file, or paste the specification's text.")
	case len(text) > maxSpec:
		f.Field("text").Fail("%d bytes; at most %d are allowed.", len(text), maxSpec)
	}
	if f.Ok() {
		if _, err := files.ReadSpec(file, text); err != nil {
			f.Field("text").Fail("%s", faultLines(err))
		} else {
			return s.save(c, file, text)
		}
	}
	if from := c.PostForm("edit"); from != "" {
		return s.showEdit(c, c.Refused(f), from, f)
	}
	return s.showSpecs(c, c.Refused(f), f)
}

// faultLines lists what is wrong with a file, a line each: "bolt-b.toml, line 5, neck.scale_mn: unknown key; did you mean ...".
func faultLines(err error) string {
	list, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return tell.Sentence(err)
	}
	var lines []string
	for _, e := range list.Unwrap() {
		var fault batch.FileError
		if !errors.As(e, &fault) {
			lines = append(lines, tell.Sentence(e))
			continue
		}
		line := fault.File
		if fault.Line > 0 {
			line += fmt.Sprintf(", line %d", fault.Line)
		}
		if fault.Field != "" {
			line += ", " + fault.Field
		}
		line += ": " + fault.Words()
		lines = append(lines, strings.TrimRight(line, ".?")+".")
	}
	return strings.Join(lines, "\n")
}

// specEdit edits a specification as text.
type specEdit struct {
	ID     string // of the revision that is edited
	From   string // "QM Bolt 648, revision B"
	Frozen bool
	// Template that it began from; the form keeps what is typed by it.
	Template string
	Form     *form.Form
}

func (s *server) editSpec(c *site.Request) error {
	line, _, err := s.findSpec(c, c.Param("id"))
	if err != nil {
		return err
	}
	f, err := s.specForm(c, line.Text)
	if err != nil {
		return err
	}
	return s.showEdit(c, http.StatusOK, line.ID, f)
}

// showEdit shows a specification's text, to be changed; from is the revision that it changes, else "".
func (s *server) showEdit(c *site.Request, status int, from string, f *form.Form) error {
	e := specEdit{Form: f, Template: c.PostForm("template")}
	if line, _, err := s.findSpec(c, from); err == nil {
		e.ID, e.From, e.Frozen = line.ID, line.Name+", revision "+line.Revision, !line.FrozenAt.IsZero()
	}
	return c.Show(status, "specedit", "Edit a specification", e)
}
