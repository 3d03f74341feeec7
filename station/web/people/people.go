// Package people is the page of who works with the record, and in which role.
package people

import (
	"context"
	"embed"
	"net/http"
	"slices"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Record is what the page asks of the station's record.
type Record interface {
	People(ctx context.Context) ([]batch.Person, error)
	AddPerson(ctx context.Context, by, name string, role batch.Role) (batch.Person, error)
}

// Options are what the page reads.
type Options struct{ Record Record }

type server struct{ opt Options }

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("People", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/people", s.people)
	g.POST("/people", s.addPerson)
	return nil
}

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

func peopleForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "name", Label: "Name", Kind: "text", Allowed: "as it stands in reports; 1 to 80 characters", Needed: true},
		{Name: "role", Label: "Role", Kind: "select", Options: slices.Clone(roleWords), Value: string(batch.Inspector), Needed: true},
	}}}}
}

func (s *server) people(c *site.Request) error { return s.showPeople(c, http.StatusOK, peopleForm()) }

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
		p.Sentence = tell.Counted(n[batch.Inspector], "inspector", "inspectors") + ", " + tell.Counted(n[batch.Repairer], "repairer", "repairers") +
			", " + tell.Counted(n[batch.QualityManager], "quality manager", "quality managers") + "."
	}
	return c.Show(status, "people", "People", p)
}

func (s *server) addPerson(c *site.Request) error {
	f := peopleForm()
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
