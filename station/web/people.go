package web

import (
	"net/http"
	"slices"

	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// roleWords says what each role may do.
var roleWords = []form.Option{
	{Value: string(batch.Inspector), Label: "inspector: measures and records rework", On: true},
	{Value: string(batch.Repairer), Label: "repairer: does what an inspector may not", On: false},
	{Value: string(batch.QualityManager), Label: "quality manager: opens and closes batches, releases specifications, grants concessions, changes what readings are judged by", On: false},
}

// peoplePage lists who works with the record.
type peoplePage struct {
	Sentence string
	People   []batch.Person
	Form     *form.Form
}

func (s *server) peopleForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "name", Label: "Name", Kind: "text", Allowed: "as it stands in reports; 1 to 80 characters", Needed: true},
		{Name: "role", Label: "Role", Kind: "select", Options: slices.Clone(roleWords), Value: string(batch.Inspector), Needed: true},
	}}}}
}

func (s *server) people(c *site.Request) error { return s.showPeople(c, http.StatusOK, s.peopleForm()) }

func (s *server) showPeople(c *site.Request, status int, f *form.Form) error {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	p := peoplePage{People: all, Form: f}
	n := map[batch.Role]int{}
	for _, who := range all {
		n[who.Role]++
	}
	if len(all) == 0 {
		p.Sentence = "Nobody is on file yet. Add the first person: a quality manager can open a batch."
	} else {
		p.Sentence = show.Counted(n[batch.Inspector], "inspector", "inspectors") + ", " + show.Counted(n[batch.Repairer], "repairer", "repairers") +
			", " + show.Counted(n[batch.QualityManager], "quality manager", "quality managers") + "."
	}
	return c.Show(status, "people", "People", p)
}

func (s *server) addPerson(c *site.Request) error {
	f := s.peopleForm()
	f.Fill(c)
	name, role := f.Text("name", 80), batch.Role(f.Choice("role"))
	if f.Ok() {
		by := c.By()
		if by == "" {
			by = name
		}
		if _, err := s.opt.Record.AddPerson(c.Request.Context(), by, name, role); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.showPeople(c, c.Refused(f), f)
	}
	return c.To("/people")
}
