// Package people is the page of who works with the record, and in which role.
package people

import (
	"context"
	"embed"
	"net/http"
	"slices"
	"strings"
	"time"

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
	SetRole(ctx context.Context, by, name string, role batch.Role, administers bool) error
	Retire(ctx context.Context, by, name string) error
	SetBadge(ctx context.Context, by, name, code string) error
	SetPeopleSignOn(ctx context.Context, by string, on bool) error
}

// Bench is told that people changed.
type Bench interface {
	ReloadShop(ctx context.Context) error
}

// Codes issues one-time codes.
type Codes interface {
	IssueCode(ctx context.Context, by, name string) (code string, until time.Time, err error)
}

// Options are what the page reads and acts on.
type Options struct {
	Record Record
	Bench  Bench // nil: the station has none
	Codes  Codes // nil: nobody ever signs on
}

type server struct{ opt Options }

// Mount puts the page on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("People", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/people", func(c *site.Request) error { return s.show(c, http.StatusOK, nil) })
	g.GET("/people/badges", s.badges)
	for path, act := range acts {
		g.POST(path, func(c *site.Request) error { return s.take(c, path, act) })
	}
	return nil
}

// page lists who works with the record, and offers what may be done about it.
type page struct {
	Sentence string
	People   []batch.Person
	SignsOn  bool
	Acts     []offered // none where who looks may not manage people
	Code     *issued   // that was just issued, shown once
}

// issued is a one-time code for somebody.
type issued struct {
	Name, Code string
	Until      time.Time
}

// offered is an act with its form.
type offered struct {
	Path, Title, Words, Button string
	Form                       *form.Form
	Open                       bool // it is what is done most, or what was typed was not taken
}

// ID names the act in the page.
func (o offered) ID() string {
	return "do" + strings.ReplaceAll(strings.TrimPrefix(o.Path, "/people"), "/", "-")
}

// refused is an act's form with what was typed and what is wrong with it.
type refused struct {
	path string
	form *form.Form
}

// show shows the page; was is what was not taken, nil for nothing.
func (s *server) show(c *site.Request, status int, was *refused) error {
	p, err := s.page(c, was)
	if err != nil {
		return err
	}
	return c.Show(status, "people", "People", p)
}

func (s *server) page(c *site.Request, was *refused) (page, error) {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return page{}, err
	}
	p := page{People: all, SignsOn: c.SignsOn(), Sentence: sentence(all, c.Words())}
	if c.SignsOn() && !c.Session().Person.May(batch.ManagePeople) {
		return p, nil
	}
	for _, path := range order {
		act := acts[path]
		if (act.signsOn && !c.SignsOn()) || (act.ofPeople && len(all) == 0) {
			continue
		}
		o := offered{path, act.title, act.words, act.button, nil, path == "/people"}
		if was != nil && was.path == path {
			o.Form, o.Open = was.form, true
		} else {
			o.Form = s.form(c, path, act, all)
		}
		p.Acts = append(p.Acts, o)
	}
	return p, nil
}

// form is an act's empty form.
func (s *server) form(c *site.Request, path string, act act, all []batch.Person) *form.Form {
	f := &form.Form{Groups: []form.Group{{Fields: act.fields(working(all), c.SignsOn())}}}
	if role := f.Field("role"); c.Words().Builder() {
		for i := range role.Options {
			role.Options[i].Label = c.Words().Say(role.Options[i].Label)
		}
	}
	f = c.Signing(f, batch.ManagePeople)
	if path == "/people" {
		return f
	}
	return f.Apart(path[len("/people/"):])
}

// sentence counts who works with the record.
func sentence(all []batch.Person, w tell.Words) string {
	if len(all) == 0 {
		return w.Say("Nobody is on file yet. Add the first person: a quality manager can open a batch.")
	}
	n := map[batch.Role]int{}
	for _, who := range working(all) {
		n[who.Role]++
	}
	var words []string
	for _, r := range []batch.Role{batch.Inspector, batch.Repairer, batch.QualityManager, batch.Auditor, batch.Viewer} {
		if n[r] > 0 || r != batch.Auditor && r != batch.Viewer {
			words = append(words, tell.Counted(n[r], w.Role(r), w.Role(r)+"s"))
		}
	}
	return strings.Join(words, ", ") + "."
}

// working are those who are not retired.
func working(all []batch.Person) []batch.Person {
	return slices.DeleteFunc(slices.Clone(all), func(p batch.Person) bool { return p.Retired })
}

// take does an act, or shows its form again.
func (s *server) take(c *site.Request, path string, act act) error {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	f := s.form(c, path, act, all)
	f.Fill(c)
	code, err := act.do(s, c, f)
	if err != nil {
		f.Refuse(err)
	}
	if f.Ok() && s.opt.Bench != nil {
		if err := s.opt.Bench.ReloadShop(c.Request.Context()); err != nil {
			return err
		}
	}
	switch {
	case !f.Ok():
		return s.show(c, c.Refused(f), &refused{path, f})
	case code == nil:
		return c.To("/people")
	}
	p, err := s.page(c, nil)
	if err != nil {
		return err
	}
	p.Code = code
	return c.Show(http.StatusOK, "people", "People", p)
}

// badges is a page of everybody's badge, to be printed and cut.
func (s *server) badges(c *site.Request) error {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "badges", "Badges", slices.DeleteFunc(all, func(p batch.Person) bool { return p.Badge == "" }))
}
