package instruments

import (
	"context"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// promiseRecord is what promises ask of the record.
type promiseRecord interface {
	Promise(ctx context.Context, by string, p batch.Promise) error
	EndPromise(ctx context.Context, by, id, how string) error
	Promises(ctx context.Context, serial string) ([]batch.Promise, error)
}

// longestPromise bounds what is promised, and what is said of how it ended, characters; furthestDue is how far ahead a promise reaches, days.
const (
	longestPromise = 200
	furthestDue    = 20 * 366
)

// promiseBlock is what was promised for an instrument.
type promiseBlock struct {
	Serial string
	Kept   []promiseLine // to be kept, the one due first before
	Ended  []promiseLine // the one that ended last before
	Late   bool          // somebody said of one that had ended how it ended
	Form   *form.Form    // that adds one
	Open   bool
}

// promiseLine is one of them, in words.
type promiseLine struct {
	batch.Promise
	Words  string
	Is     bool       // due: today, or before
	End    *form.Form // says how it ended
	Failed bool       // that was not taken
}

// promiseBlock shows them with their forms, or with those of was that were not taken.
func (s *server) promiseBlock(c *site.Request, was refused) (b promiseBlock, err error) {
	b = promiseBlock{Serial: c.Param("serial"), Form: was.promise, Open: was.promise != nil}
	all, err := s.opt.Record.Promises(c.Request.Context(), b.Serial)
	if err != nil {
		return b, err
	}
	today := batch.DayOf(s.opt.Now())
	for _, p := range all {
		line := promiseLine{Promise: p, Words: tell.Upper(tell.PromisedWhat(p, today)), Is: p.Due <= today}
		line.End = was.ended[p.ID]
		line.Failed = line.End != nil
		if !p.EndedAt.IsZero() { // with what was typed by somebody who came later
			b.Ended, b.Late = append(b.Ended, line), b.Late || line.Failed
			continue
		}
		if !line.Failed {
			if line.End, err = endPromiseForm(c, p.ID); err != nil {
				return b, err
			}
		}
		b.Kept = append(b.Kept, line)
	}
	slices.SortStableFunc(b.Ended, func(a, b promiseLine) int { return b.EndedAt.Compare(a.EndedAt) })
	if b.Form == nil {
		b.Form, err = promiseForm(c)
	}
	return b, err
}

func promiseForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "what", Label: "What is promised", Kind: "area", Rows: 1, Needed: true, Allowed: "e.g. check relief after winter"},
		{Name: "due", Label: "Due", Kind: "date", Needed: true, Allowed: "the day on which the station reminds of it"}, by}}}}
	return f.Apart("promise"), err
}

// takePromise keeps a promise.
func (s *server) takePromise(c *site.Request) error {
	serial := c.Param("serial")
	f, err := promiseForm(c)
	if err != nil {
		return err
	}
	trimmed(f, c, "what")
	p, by := batch.Promise{Serial: serial, What: f.Text("what", longestPromise), Due: s.due(f)}, f.Choice("by")
	if f.Ok() {
		if err := s.opt.Record.Promise(c.Request.Context(), by, p); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), refused{promise: f})
	}
	return c.To(site.InstrumentPath(serial) + "#promises")
}

// due reads the day on which a promise is due: today or later.
func (s *server) due(f *form.Form) batch.Day {
	fd, today := f.Field("due"), batch.DayOf(s.opt.Now())
	if fd.Value == "" {
		fd.Fail("Nothing is here. Give the day.")
		return ""
	}
	day, err := batch.ParseDay(fd.Value)
	switch {
	case err != nil:
		fd.Fail("%s", tell.Sentence(err))
	case day < today:
		fd.Fail("%s is past. Give today, %s, or a later day.", day, today)
	case day > today.After(furthestDue):
		fd.Fail("%s is more than 20 years ahead. Give an earlier day.", day)
	}
	return day
}

// promisedFor says that nothing of this ID was promised for an instrument.
func (s *server) promisedFor(ctx context.Context, serial, id string) error {
	all, err := s.opt.Record.Promises(ctx, serial)
	if err == nil && !slices.ContainsFunc(all, func(p batch.Promise) bool { return p.ID == id }) {
		err = batch.Absent.Errorf("There is no such promise for %s.", batch.Shown(serial))
	}
	return err
}

func endPromiseForm(c *site.Request, id string) (*form.Form, error) {
	by, err := c.ByField(batch.Measure)
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "how", Label: "How it ended", Kind: "select", Needed: true, Options: []form.Option{{Value: batch.PromiseKept, Label: "it is kept"}, {Value: batch.PromiseDropped, Label: "it is dropped"}}},
		{Name: "words", Label: "In words", Kind: "area", Rows: 1, Allowed: "what was done, may be empty; where it is dropped: why"},
		by}}}}
	return f.Apart("end-" + id), err
}

// endPromise says that a promise is kept, or why it is dropped.
func (s *server) endPromise(c *site.Request) error {
	serial, id := c.Param("serial"), c.Param("promise")
	f, err := endPromiseForm(c, id)
	if err != nil {
		return err
	}
	if err := s.promisedFor(c.Request.Context(), serial, id); err != nil {
		return err
	}
	trimmed(f, c, "words")
	how, words, by := f.Choice("how"), f.Text("words", longestPromise), f.Choice("by")
	switch {
	case how == batch.PromiseDropped && words == "":
		f.Field("words").Fail("Nothing is here. Say why it is dropped.")
	case words != "":
		how += ": " + words
	}
	if f.Ok() {
		if err := s.opt.Record.EndPromise(c.Request.Context(), by, id, how); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), refused{ended: map[string]*form.Form{id: f}})
	}
	return c.To(site.InstrumentPath(serial) + "#promises")
}
