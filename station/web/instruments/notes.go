package instruments

import (
	"context"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// noteRecord is what notes ask of the record.
type noteRecord interface {
	AddInstrumentNote(ctx context.Context, by string, n batch.InstrumentNote) error
	InstrumentNotes(ctx context.Context, serial string) ([]batch.InstrumentNote, error)
}

// inNotes is how many notes are shown at once; the others are folded.
const inNotes = 5

// noteBlock is an instrument's notes, the newest first.
type noteBlock struct {
	Serial          string
	Newest, Earlier []noteLine
	Form            *form.Form // that adds one
	Open            bool
}

// noteLine is a note with the visit that it belongs to, "" for none.
type noteLine struct {
	batch.InstrumentNote
	Visit string
}

// noteLines are an instrument's notes, the newest first.
func (s *server) noteLines(ctx context.Context, serial string, visits []batch.Visit) (lines []noteLine, err error) {
	notes, err := s.opt.Record.InstrumentNotes(ctx, serial)
	for _, n := range slices.Backward(notes) {
		line := noteLine{InstrumentNote: n}
		if n.VisitID != "" {
			line.Visit = tell.VisitOf(n.VisitID, visits)
		}
		lines = append(lines, line)
	}
	return lines, err
}

// noteBlock shows them with the form, or with was, the form that was not taken.
func (s *server) noteBlock(c *site.Request, visits []batch.Visit, was *form.Form) (b noteBlock, err error) {
	b = noteBlock{Serial: c.Param("serial"), Form: was, Open: was != nil}
	if b.Newest, err = s.noteLines(c.Request.Context(), b.Serial, visits); err != nil {
		return b, err
	}
	n := min(inNotes, len(b.Newest))
	b.Newest, b.Earlier = b.Newest[:n], b.Newest[n:]
	if was == nil {
		b.Form, err = noteForm(c)
	}
	return b, err
}

func noteForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "text", Label: "The note", Kind: "area", Rows: 3, Needed: true, Allowed: "what is worth knowing of it; it stays, with your name"}, by}}}}
	return f.Apart("note"), err
}

// takeNote keeps a note; while a visit lasts, of that visit.
func (s *server) takeNote(c *site.Request) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	f, err := noteForm(c)
	if err != nil {
		return err
	}
	trimmed(f, c, "text")
	n, by := batch.InstrumentNote{Serial: serial, Text: f.Text("text", longestWords)}, f.Choice("by")
	if f.Ok() {
		visits, err := s.opt.Record.Visits(ctx, serial)
		if err != nil {
			return err
		}
		if open := lasting(visits); open != nil {
			n.VisitID = open.ID
		}
		if err := s.opt.Record.AddInstrumentNote(ctx, by, n); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), refused{note: f})
	}
	return c.To(site.InstrumentPath(serial) + "#notes")
}

// trimmed takes over what was typed, an area without the blanks about it.
func trimmed(f *form.Form, c *site.Request, area string) {
	f.Fill(c)
	fd := f.Field(area)
	fd.Set(strings.TrimSpace(fd.Value))
}

// lasting is the visit that has not ended, nil for none.
func lasting(visits []batch.Visit) *batch.Visit {
	i := slices.IndexFunc(visits, func(v batch.Visit) bool { return v.Number > 0 && v.EndedAt.IsZero() })
	if i < 0 {
		return nil
	}
	return &visits[i]
}
