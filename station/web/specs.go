package web

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// maxSpec is the largest specification file taken, bytes.
const maxSpec = 1 << 20

// specsPage lists the specification revisions.
type specsPage struct {
	Sentence string
	Specs    []specLine
	Form     *form.Form
	Compare  []form.Option
	Keys     []specKey
	Warnings []string // of limits that are never measured
}

// specLine is one revision with the batches that are judged by it.
type specLine struct {
	batch.SpecRevision
	UsedBy []string
	Limits int
}

// specLines reads the revisions and who uses them, newest first.
func (s *server) specLines(c *site.Request) ([]specLine, error) {
	specs, err := s.opt.Record.Specs(c.Request.Context())
	if err != nil {
		return nil, err
	}
	batches, err := s.opt.Record.Batches(c.Request.Context())
	if err != nil {
		return nil, err
	}
	lines := make([]specLine, len(specs))
	for i, sp := range specs {
		lines[i] = specLine{SpecRevision: sp, Limits: len(sp.Spec.Limits)}
		for _, b := range batches {
			if b.Spec.ID == sp.ID {
				lines[i].UsedBy = append(lines[i].UsedBy, b.Number)
			}
		}
	}
	slices.SortStableFunc(lines, func(a, b specLine) int { return b.AddedAt.Compare(a.AddedAt) })
	return lines, nil
}

// specForm takes a specification as a file or as text.
func (s *server) specForm(c *site.Request, text string) (*form.Form, error) {
	by, err := c.ByField(batch.QualityManager)
	by.Label = "Released by"
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "file", Label: "Specification file", Kind: "file", Allowed: "a .toml file up to 1 MB; taken instead of the text below"},
		{Name: "text", Label: "Specification text", Kind: "area", Rows: 18, Allowed: "TOML, one specification", Value: text},
		by,
	}}}}, err
}

func (s *server) specs(c *site.Request) error {
	f, err := s.specForm(c, show.Pick(c.Query("example") == "yes", exampleSpec, ""))
	if err != nil {
		return err
	}
	return s.showSpecs(c, http.StatusOK, f)
}

func (s *server) showSpecs(c *site.Request, status int, f *form.Form) error {
	lines, err := s.specLines(c)
	if err != nil {
		return err
	}
	p := specsPage{Specs: lines, Form: f, Keys: specKeys()}
	frozen := 0
	for _, l := range lines {
		if !l.FrozenAt.IsZero() {
			frozen++
		}
		p.Compare = append(p.Compare, form.Option{Value: l.ID, Label: l.Name + ", revision " + l.Revision, On: false})
		p.Warnings = append(p.Warnings, show.UnmeasurableOf([]batch.SpecRevision{l.SpecRevision})...)
	}
	switch len(lines) {
	case 0:
		p.Sentence = "No specification is on file yet. Import one below: a batch is judged against it."
	default:
		p.Sentence = fmt.Sprintf("%s on file; %s by a batch.", show.Counted(len(lines), "revision is", "revisions are"), show.Counted(frozen, "is frozen", "are frozen"))
	}
	return c.Show(status, "specs", "Specifications", p)
}

// addSpec imports a specification; what is wrong with it is said by line and key, and the text stays.
func (s *server) addSpec(c *site.Request) error {
	f, err := s.specForm(c, "")
	if err != nil {
		return err
	}
	f.Fill(c)
	by := f.Choice("by")
	file, text := "the text", []byte(strings.ReplaceAll(f.Field("text").Value, "\r\n", "\n"))
	if name, data, err := site.Upload(c, "file", maxSpec); err != nil {
		f.RefuseAt("file", batch.Mendable.Of(err))
	} else if data != nil {
		file, text = name, data
		f.Field("text").Value = string(data)
	}
	switch {
	case len(strings.TrimSpace(string(text))) == 0 && f.Ok():
		f.Field("text").Fail("Nothing is here. Choose a file, or paste the specification's text.")
	case len(text) > maxSpec:
		f.Field("text").Fail("%d bytes; at most %d are allowed.", len(text), maxSpec)
	}
	if f.Ok() {
		added, err := s.opt.Record.AddSpec(c.Request.Context(), by, file, text)
		if err == nil {
			return c.To("/specs/" + url.PathEscape(added.ID))
		}
		if f.Refuse(err); batch.KindOf(err) != batch.Machine {
			f.Error = ""
			f.Field("text").Fail("%s", faultLines(err))
		}
	}
	if c.PostForm("edit") != "" {
		e := specEdit{Form: f}
		if line, _, err := s.findSpec(c, c.PostForm("edit")); err == nil {
			e.edits(line)
		}
		return c.Show(c.Refused(f), "specedit", "Edit a specification", e)
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

// specPage is one revision in words.
type specPage struct {
	specLine
	Parts    []specPart
	Strings  []stringRow
	Limits   []limitRow
	Warnings []string
	Others   []form.Option // revisions to compare with
	Sentence string
}

// stringRow is one string, numbers apart.
type stringRow struct {
	Number                                int
	Name, Pitch, YNut, YSaddle, Dia, Mass string
}

// findSpec reads one revision and says who uses it.
func (s *server) findSpec(c *site.Request, id string) (line specLine, all []specLine, err error) {
	sp, err := s.opt.Record.Spec(c.Request.Context(), id)
	if err != nil {
		return line, nil, err
	}
	if all, err = s.specLines(c); err != nil {
		return line, nil, err
	}
	for _, l := range all {
		if l.ID == sp.ID {
			return l, all, nil
		}
	}
	return specLine{SpecRevision: sp, Limits: len(sp.Spec.Limits)}, all, nil
}

func (s *server) spec(c *site.Request) error {
	line, all, err := s.findSpec(c, c.Param("id"))
	if err != nil {
		return err
	}
	lengths := c.Unit()
	spec := line.Spec.WithDefaults()
	p := specPage{specLine: line, Limits: limitRows(spec, lengths)}
	for _, part := range specParts(spec, lengths) {
		if part.Title != "Strings" && part.Title != "Limits" {
			p.Parts = append(p.Parts, part)
		}
	}
	p.Strings = stringRows(spec, lengths)
	for _, l := range all {
		if l.ID != line.ID {
			p.Others = append(p.Others, form.Option{Value: l.ID, Label: l.Name + ", revision " + l.Revision, On: false})
		}
	}
	gauges, err := s.opt.Record.Gauges(c.Request.Context())
	if err != nil {
		return err
	}
	p.Warnings = append(show.Unmeasurable(line.Spec), show.CoarseWarnings(spec, gauges, lengths)...)
	switch {
	case line.FrozenAt.IsZero():
		p.Sentence = "Not frozen: it may be replaced until a batch is opened against it."
	case len(line.UsedBy) == 0:
		p.Sentence = "Frozen since " + show.When(line.FrozenAt, s.opt.Now()) + ". A change makes a new revision."
	default:
		p.Sentence = fmt.Sprintf("Frozen since %s: %s. A change makes a new revision.", show.When(line.FrozenAt, s.opt.Now()),
			strings.Join(line.UsedBy, ", ")+" "+show.Pick(len(line.UsedBy) == 1, "is", "are")+" judged by it")
	}
	return c.Show(http.StatusOK, "spec", line.Name+", revision "+line.Revision, p)
}

// stringRows lists a specification's strings.
func stringRows(spec *inspect.Spec, lengths unit.Unit) []stringRow {
	column := func(value func(inspect.String) string) []string {
		texts := make([]string, len(spec.Strings))
		for i, st := range spec.Strings {
			texts[i], _, _ = strings.Cut(value(st), " ")
		}
		return aligned(texts)
	}
	pitch := column(func(st inspect.String) string { return show.Plain(st.PitchHz) })
	nut := column(func(st inspect.String) string { return nominal(st.YNutMM, lengths) })
	saddle := column(func(st inspect.String) string { return nominal(st.YSaddleMM, lengths) })
	dia := column(func(st inspect.String) string { return nominal(st.DiameterMM, lengths) })
	rows := make([]stringRow, len(spec.Strings))
	for i, st := range spec.Strings {
		rows[i] = stringRow{st.Number, st.Name, pitch[i], nut[i], saddle[i], dia[i], massWords(st)}
	}
	return rows
}

// specEdit edits a specification as text.
type specEdit struct {
	ID     string // of the revision that is edited
	From   string // "QM Bolt 648, revision B"
	Frozen bool
	Form   *form.Form
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
	e := specEdit{Form: f}
	e.edits(line)
	return c.Show(http.StatusOK, "specedit", "Edit a specification", e)
}

// edits names the revision that is edited.
func (e *specEdit) edits(line specLine) {
	e.ID, e.From, e.Frozen = line.ID, line.Name+", revision "+line.Revision, !line.FrozenAt.IsZero()
}

// exportSpec sends the file as it came in.
func (s *server) exportSpec(c *site.Request) error {
	sp, err := s.opt.Record.Spec(c.Request.Context(), c.Param("id"))
	if err != nil {
		return err
	}
	c.Attachment(sp.Name + " " + sp.Revision + ".toml")
	c.Data(http.StatusOK, "application/toml; charset=utf-8", []byte(sp.Text))
	return nil
}

// specCompare sets two revisions side by side.
type specCompare struct {
	A, B     specLine
	Parts    []comparedPart
	Sentence string
}

func (s *server) compareSpecs(c *site.Request) error {
	a, _, err := s.findSpec(c, c.Query("a"))
	if err != nil {
		return err
	}
	b, _, err := s.findSpec(c, c.Query("b"))
	if err != nil {
		return err
	}
	parts, differ := compareSpecs(a.Spec.WithDefaults(), b.Spec.WithDefaults(), c.Unit())
	p := specCompare{A: a, B: b, Parts: parts, Sentence: "The two say the same in every field."}
	if differ > 0 {
		p.Sentence = show.Counted(differ, "field differs; it is marked with ≠.", "fields differ; they are marked with ≠.")
	}
	return c.Show(http.StatusOK, "speccompare", "Two specifications", p)
}
