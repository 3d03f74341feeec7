package instruments

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// instrumentPage is an instrument with what is known of it, a block each. A block is worked out in a file of its own, which its template is
// named for.
type instrumentPage struct {
	Instrument batch.Instrument
	Kind       string // for people
	Sentence   string
	Open       *batch.Visit // the visit that lasts, nil for none
	OnBench    bool
	Taken      string        // what else lies on the bench while a visit waits for it, in a sentence
	Visits     []visitLine   // the newest first
	Before     []batch.Owner // others that owned it, the first before
	Strings    []batch.StringSet
	Restring   *form.Form // says which strings it was given, nil before its first visit
	StringsBad bool       // that was not taken
	Trail      bool       // who looks may read who did what
	Owner      *form.Form // that is changed
	OwnerOpen  bool
	End        *form.Form // of the visit that lasts
	EndOpen    bool
	Life       []string // what is known of it over its visits

	Notes       noteBlock
	Promises    promiseBlock
	Photographs photographBlock
}

// visitLine is one visit in the table of all.
type visitLine struct {
	batch.Visit
	State  string // in the words of inspect's dispositions, "" before the first verdict
	Said   string // by whom that was decided, and why; "" where the values say it
	Values []valueLine
	Work   []string
}

// valueLine is a value of a visit's last verdict.
type valueLine struct{ Name, Value string }

func (s *server) instrument(c *site.Request) error { return s.show(c, http.StatusOK, refused{}) }

// refused are forms that were not taken, nil those that were not sent.
type refused struct {
	owner, end, strings, note, promise *form.Form
	ended                              map[string]*form.Form // by the promise's ID
}

// show shows an instrument with what was wrong with a form.
func (s *server) show(c *site.Request, status int, was refused) error {
	ctx, serial := c.Request.Context(), c.Param("serial")
	in, err := s.opt.Record.Instrument(ctx, serial)
	if err != nil {
		return err
	}
	p := instrumentPage{Instrument: in, Kind: kindTitle(in.Kind)}
	visits, err := s.opt.Record.Visits(ctx, serial)
	if err != nil {
		return err
	}
	for _, v := range visits {
		line, err := s.visitLine(ctx, v, c.Unit())
		if err != nil {
			return err
		}
		p.Visits = append([]visitLine{line}, p.Visits...)
	}
	p.Open, p.Sentence = lasting(visits), tell.VisitsSoFar(visits)
	if p.Notes, err = s.noteBlock(c, visits, was.note); err != nil {
		return err
	}
	if p.Promises, err = s.promiseBlock(c, was); err != nil {
		return err
	}
	if p.Photographs, err = s.photographBlock(ctx, serial, visits); err != nil {
		return err
	}
	owners, err := s.opt.Record.Owners(ctx, serial)
	if err != nil {
		return err
	}
	p.Before = othersBefore(owners, in.Owner.Name)
	if p.Strings, err = s.opt.Record.StringSets(ctx, serial); err != nil {
		return err
	}
	if p.Restring, p.StringsBad = was.strings, was.strings != nil; p.Restring == nil && len(visits) > 0 {
		if p.Restring, err = s.strungForm(c, lastSpec(visits)); err != nil {
			return err
		}
	}
	p.Trail = c.Barred(batch.ReadTrail) == ""
	if p.Owner, err = ownerForm(c, in.Owner); err != nil {
		return err
	}
	if was.owner != nil {
		p.Owner, p.OwnerOpen = was.owner, true
	}
	if p.Open != nil {
		if p.End, err = s.endForm(c); err != nil {
			return err
		}
		if was.end != nil {
			p.End, p.EndOpen = was.end, true
		}
		s.benchOf(&p)
	}
	if p.Life, err = s.lifeOf(ctx, serial, c.Unit()); err != nil {
		return err
	}
	return c.Show(status, "instrument", in.Serial, p)
}

// benchOf says whether an instrument that is here lies on the bench, or what else does.
func (s *server) benchOf(p *instrumentPage) {
	if s.opt.Bench == nil {
		return
	}
	snap := s.opt.Bench.Snapshot()
	p.OnBench = snap.Serial == p.Instrument.Serial && (snap.Stage == bench.Measuring || snap.Stage == bench.Decided || snap.Stage == bench.PersonDecides)
	if !free(snap) && !p.OnBench {
		p.Taken = tell.BenchTaken(snap.Serial)
	}
}

// visitLine is a visit with what its last verdict says.
func (s *server) visitLine(ctx context.Context, v batch.Visit, lengths unit.Unit) (visitLine, error) {
	line := visitLine{Visit: v}
	verdict, err := s.lastVerdict(ctx, v)
	if err != nil {
		return line, err
	}
	if verdict != nil {
		line.State = string(verdict.Disposition)
		if verdict.DecidedBy != "" {
			line.Said = fmt.Sprintf(", decided by %s: %s", verdict.DecidedBy, strings.TrimRight(verdict.Reason, "."))
		}
		for i := range verdict.Result.Characteristics {
			if ch := &verdict.Result.Characteristics[i]; inspect.KindOf(ch.Name).ForPlayer && ch.Value != nil {
				line.Values = append(line.Values, valueLine{tell.Worker(*ch), written(v.Batch.Spec.Spec, ch, lengths)})
			}
		}
	}
	work, err := s.opt.Record.Rework(ctx, v.Neck.ID)
	for _, w := range work {
		line.Work = append(line.Work, tell.Upper(tell.ReworkStep(w, lengths)))
	}
	return line, err
}

// written is a value with its unit.
func written(spec *inspect.Spec, ch *inspect.Characteristic, lengths unit.Unit) string {
	in := ch.Unit
	if in == "mm" {
		in = lengths.String()
	}
	if ch.IntervalMM != nil {
		return tell.LeafInterval(*ch.IntervalMM, lengths) + " " + in
	}
	return show.Rounded(spec, ch, lengths).Value(*ch.Value, inspect.KindOf(ch.Name).Signed) + " " + in
}

// lastVerdict is the verdict that a visit's neck stands by, nil before the first.
func (s *server) lastVerdict(ctx context.Context, v batch.Visit) (*batch.Verdict, error) {
	all, err := s.opt.Record.Inspections(ctx, v.Neck.ID)
	for i := len(all) - 1; i >= 0 && err == nil; i-- {
		verdict, err := s.opt.Record.CountingVerdict(ctx, all[i].ID)
		if err != nil || verdict != nil {
			return verdict, err
		}
	}
	return nil, err
}

// nobodys is the choice that an instrument has no owner any more who is known.
const nobodys = "nobody"

func ownerForm(c *site.Request, now batch.Owner) (*form.Form, error) {
	by, err := c.ByField(batch.Keep)
	fields := []form.Field{
		{Name: "owner", Label: "Owner", Kind: "text", Value: now.Name},
		{Name: "contact", Label: "How the owner is reached", Kind: "text", Value: now.Contact}}
	if now.Name != "" {
		fields = append(fields, form.Field{Name: "is", Label: "Nobody's", Kind: "check", Options: []form.Option{{Value: nobodys, Label: "It is not " + now.Name + "'s any more, and whose it is nobody knows"}}})
	}
	f := &form.Form{Groups: []form.Group{{Fields: append(fields, by)}}}
	return f.Apart("owner"), err
}

// typedOwner reads whose an instrument is from now on, after another one: nobody is only who is said to be.
func typedOwner(f *form.Form, now batch.Owner) batch.Owner {
	o := batch.Owner{Name: f.Text("owner", 200), Contact: f.Text("contact", longestWords)}
	fd := f.Field("owner")
	switch cleared := len(f.Field("is").Chosen()) > 0; {
	case cleared && o.Name != "" && o.Name != now.Name:
		fd.Fail("%s is given here, and below that nobody knows whose it is: leave one of the two.", o.Name)
	case cleared:
		return batch.Owner{}
	case o.Name == "" && now.Name != "":
		fd.Fail("Nothing is here. Give the owner; where nobody knows who it is, say so below.")
	case o.Name == "":
		fd.Fail("Nothing is here. Give the owner.")
	}
	return o
}

// othersBefore are the owners with another name than it has now, each once in a row: who moved was entered again.
func othersBefore(owners []batch.Owner, now string) []batch.Owner {
	owners = slices.DeleteFunc(owners, func(o batch.Owner) bool { return o.Name == "" || o.Name == now })
	return slices.CompactFunc(owners, func(a, b batch.Owner) bool { return a.Name == b.Name })
}

// takeOwner says whose the instrument is from now on.
func (s *server) takeOwner(c *site.Request) error {
	serial := c.Param("serial")
	in, err := s.opt.Record.Instrument(c.Request.Context(), serial)
	if err != nil {
		return err
	}
	f, err := ownerForm(c, in.Owner)
	if err != nil {
		return err
	}
	f.Fill(c)
	o, by := typedOwner(f, in.Owner), f.Choice("by")
	if f.Ok() {
		if err := s.opt.Record.SetOwner(c.Request.Context(), by, serial, o); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), refused{owner: f})
	}
	return c.To(site.InstrumentPath(serial))
}

func (s *server) endForm(c *site.Request) (*form.Form, error) {
	by, err := c.ByField(batch.Keep)
	f := &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "result", Label: "How it went, in words", Kind: "area", Rows: 2, Allowed: "may stay empty"}, by}}}}
	return f.Apart("end"), err
}

// endVisit ends the visit that lasts.
func (s *server) endVisit(c *site.Request) error {
	serial := c.Param("serial")
	f, err := s.endForm(c)
	if err != nil {
		return err
	}
	f.Fill(c)
	result, by := f.Text("result", longestWords), f.Choice("by")
	if f.Ok() {
		err := s.opt.Record.EndVisit(c.Request.Context(), by, serial, result)
		if err == nil {
			return c.To(site.InstrumentPath(serial))
		}
		f.Refuse(err)
	}
	return s.show(c, c.Refused(f), refused{end: f})
}

// toBench takes the visit that lasts to the bench.
func (s *server) toBench(c *site.Request) error {
	visits, err := s.opt.Record.Visits(c.Request.Context(), c.Param("serial"))
	if err != nil {
		return err
	}
	for _, v := range visits {
		if v.Number == 0 || !v.EndedAt.IsZero() {
			continue
		}
		there, err := s.bring(c, c.By(), v, inspect.Climate{})
		if err != nil {
			return err
		}
		if !there {
			return batch.Conflict.Errorf("the bench is not free for %s: finish or park (F4) what is on it, and be the one who is at it", v.Serial)
		}
		return c.To("/")
	}
	return batch.Conflict.Errorf("no visit of %s lasts: begin one on its page", batch.Shown(c.Param("serial")))
}
