package specs

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/web/draw"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// specPage is one revision in words.
type specPage struct {
	specLine
	Parts      []tell.Part
	Strings    []stringRow
	Limits     []limitRow
	Warnings   []string
	Signatures []string
	Others     []form.Option // revisions to compare with
	Sentence   string
	OnNeck     template.HTML // the limits at their places
	Whole      []string      // limits without a place
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
	p := specPage{specLine: line, Limits: limitRows(spec, lengths), OnNeck: draw.Limits(spec, lengths), Whole: tell.WholeNeck(spec, lengths)}
	for _, part := range tell.Spec(spec, lengths) {
		if part.Title != "Strings" && part.Title != "Limits" {
			p.Parts = append(p.Parts, part)
		}
	}
	p.Strings = stringRows(spec, lengths)
	if p.Signatures, err = show.SignaturesOf(c.Request.Context(), s.opt.Record, line.Name+", revision "+line.Revision, nil); err != nil {
		return err
	}
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
	all := tell.BassToTreble(spec.Strings)
	column := func(value func(inspect.String) string) []string {
		texts := make([]string, len(all))
		for i, st := range all {
			texts[i] = value(st)
		}
		return aligned(texts)
	}
	pitch := column(func(st inspect.String) string { return show.Plain(st.PitchHz) })
	nut := column(func(st inspect.String) string { return tell.NominalNumber(st.YNutMM, lengths) })
	saddle := column(func(st inspect.String) string { return tell.NominalNumber(st.YSaddleMM, lengths) })
	dia := column(func(st inspect.String) string { return tell.NominalNumber(st.DiameterMM, lengths) })
	rows := make([]stringRow, len(all))
	for i, st := range all {
		rows[i] = stringRow{st.Number, st.Name, pitch[i], nut[i], saddle[i], dia[i], tell.Mass(st)}
	}
	return rows
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
