// Package signon is the pages of signing on: with a password, or with badge or PIN for the bench; with a one-time code; and what somebody sees
// of their own sign-on.
package signon

import (
	"context"
	"embed"
	"net/http"

	"sagitta/batch"
	"sagitta/station/signon"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Bench is told who is there.
type Bench interface {
	SignOff(ctx context.Context, name string) error
	ReloadShop(ctx context.Context) error
}

// Options are what the pages work with.
type Options struct {
	SignOn *signon.Service
	Bench  Bench // nil: the station has none
}

type server struct{ opt Options }

// Path is where one signs on.
const Path = "/sign-on"

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET(Path, func(c *site.Request) error { return s.show(c, http.StatusOK, passwordForm(), benchForm()) })
	g.POST(Path, s.byPassword)
	g.POST(Path+"/bench", s.atBench)
	g.POST("/sign-off", s.off)
	g.GET(Path+"/code", func(c *site.Request) error { return s.showCode(c, http.StatusOK, codeForm(), nil) })
	g.POST(Path+"/code", s.code)
	g.GET(Path+"/own", func(c *site.Request) error { return s.showOwn(c, http.StatusOK, passwordChange(), pinChange()) })
	g.POST(Path+"/own/password", s.changePassword)
	g.POST(Path+"/own/pin", s.changePIN)
	g.POST(Path+"/own/sessions", s.endOthers)
	return nil
}

// page is where one signs on.
type page struct {
	To       string // where one wanted to go
	SignsOn  bool
	Name     string // of who is signed on already, "" for nobody
	Password *form.Form
	Bench    *form.Form
}

func passwordForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "name", Label: "Name", Kind: "text", Auto: "username", Needed: true, Focus: true},
		{Name: "password", Label: "Password", Kind: "secret", Auto: "current-password", Needed: true},
	}}}}
}

func benchForm() *form.Form {
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "badge", Label: "Badge", Kind: "text", Allowed: "scan it here; or give name and PIN"},
		{Name: "name", Label: "Name", Kind: "text", Auto: "username"},
		{Name: "pin", Label: "PIN", Kind: "pin"},
	}}}}).Apart("bench")
}

// wanted is where one wanted to go, kept through the forms.
func wanted(c *site.Request) string {
	if to := c.PostForm("to"); to != "" {
		return site.OwnPath(to)
	}
	return site.OwnPath(c.Query("to"))
}

func (s *server) show(c *site.Request, status int, password, bench *form.Form) error {
	return c.Show(status, "sign-on", "Sign on", page{To: wanted(c), SignsOn: c.SignsOn(), Name: c.Session().Person.Name, Password: password, Bench: bench})
}

// begin gives the browser a session of somebody.
func (s *server) begin(c *site.Request, p batch.Person, strength batch.Strength) error {
	return s.opt.SignOn.Begin(c.Writer, c.Request, p, strength)
}

func (s *server) byPassword(c *site.Request) error {
	f := passwordForm()
	f.Fill(c)
	name := f.Text("name", longestText)
	f.Text("password", longestText)
	if f.Ok() {
		p, err := s.opt.SignOn.SignOn(c.Request.Context(), name, f.Field("password").Value)
		if err == nil {
			err = s.begin(c, p, batch.ByPassword)
		}
		if err != nil {
			f.RefuseAt("password", err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), f, benchForm())
	}
	return c.To(wanted(c))
}

// longestText bounds what a field of a sign-on takes, in characters.
const longestText = 200

func (s *server) atBench(c *site.Request) error {
	f := benchForm()
	f.Fill(c)
	badge, name, pin := f.Text("badge", longestText), f.Text("name", longestText), f.Text("pin", longestText)
	if badge == "" && name == "" {
		f.Field("badge").Fail("Nothing is here. Scan the badge, or give name and PIN.")
	}
	if f.Ok() {
		if err := s.signOnBench(c, badge, name, pin); err != nil {
			field := "pin"
			if badge != "" {
				field = "badge"
			}
			f.RefuseAt(field, err)
		}
	}
	if !f.Ok() {
		return s.show(c, c.Refused(f), passwordForm(), f)
	}
	return c.To(wanted(c))
}

func (s *server) signOnBench(c *site.Request, badge, name, pin string) error {
	var p batch.Person
	var err error
	if badge != "" {
		p, err = s.opt.SignOn.SignOnBadge(c.Request.Context(), badge)
	} else {
		p, err = s.opt.SignOn.SignOnPIN(c.Request.Context(), name, pin)
	}
	if err != nil {
		return err
	}
	return s.begin(c, p, batch.AtBench)
}

// off ends the browser's session, and the work at the bench of whom it is.
func (s *server) off(c *site.Request) error {
	if s.opt.Bench != nil {
		if err := s.opt.Bench.SignOff(c.Request.Context(), c.Session().Person.Name); err != nil {
			return err
		}
	}
	if err := s.opt.SignOn.End(c.Writer, c.Request); err != nil {
		return err
	}
	if c.PostForm("to") != "" {
		return c.To(wanted(c))
	}
	return c.To(Path)
}
