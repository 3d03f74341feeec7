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
	SetBadge(ctx context.Context, by, name, code string) error
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
	g.POST("/people/badge", s.setBadge)
	g.GET("/people/badges", s.badges)
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
	Badge    *form.Form // nil while nobody is on file
}

func peopleForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "name", Label: "Name", Kind: "text", Allowed: "as it stands in reports; 1 to 80 characters", Needed: true},
		{Name: "role", Label: "Role", Kind: "select", Options: slices.Clone(roleWords), Value: string(batch.Inspector), Needed: true},
	}}}}
}

// badgeForm gives one of the people a badge.
func badgeForm(people []batch.Person) *form.Form {
	who := form.Field{Name: "person", Label: "Person", Kind: "select", Needed: true}
	for _, p := range people {
		who.Options = append(who.Options, form.Option{Value: p.Name, Label: p.Name})
	}
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		who,
		{Name: "badge", Label: "Code of the badge", Kind: "text", Allowed: "as a scanner reads it, e.g. WH-01 or 00417; empty takes the badge away"},
	}}}}).Apart("badge")
}

func (s *server) people(c *site.Request) error {
	return s.showPeople(c, http.StatusOK, peopleForm(), nil)
}

// showPeople shows the page with what was typed into the form of a person, or into that of a badge; nil for an empty one.
func (s *server) showPeople(c *site.Request, status int, f, badge *form.Form) error {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	p := peoplePage{People: all, Form: f, Badge: badge}
	if badge == nil && len(all) > 0 {
		p.Badge = badgeForm(all)
	}
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
		return s.showPeople(c, c.Refused(f), f, nil)
	}
	return c.To("/people")
}

func (s *server) setBadge(c *site.Request) error {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	f := badgeForm(all)
	f.Fill(c)
	name, code := f.Choice("person"), f.Text("badge", 30)
	if f.Ok() {
		if err := s.opt.Record.SetBadge(c.Request.Context(), c.By(), name, code); err != nil {
			f.Refuse(err)
		}
	}
	if !f.Ok() {
		return s.showPeople(c, c.Refused(f), peopleForm(), f)
	}
	return c.To("/people")
}

// badges is a page of everybody's badge, to be printed and cut.
func (s *server) badges(c *site.Request) error {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "badges", "Badges", slices.DeleteFunc(all, func(p batch.Person) bool { return p.Badge == "" }))
}
