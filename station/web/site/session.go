package site

import (
	"context"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/signon"
	"sagitta/station/web/form"
)

// who is whom a request comes from.
type who struct {
	session signon.Session
	signsOn bool // people sign on in this record
}

const keyWho = "who"

// knowWho reads whom a request comes from. Files need nobody.
func (s *Site) knowWho(c *gin.Context) error {
	if s.opt.SignOn == nil || strings.HasPrefix(c.Request.URL.Path, "/assets/") {
		return nil
	}
	on, err := s.opt.SignOn.On(c.Request.Context())
	if err != nil {
		return err
	}
	r, session, err := s.opt.SignOn.Load(c.Writer, c.Request)
	c.Request = r
	c.Set(keyWho, who{session, on})
	return err
}

func (c *Request) who() who {
	w, _ := c.Get(keyWho)
	known, _ := w.(who)
	return known
}

// SignsOn says whether people sign on in this record; else it is worked with on this machine only, by whoever is named.
func (c *Request) SignsOn() bool { return c.who().signsOn }

// Session is who is signed on in the request's browser; nobody where nobody signs on.
func (c *Request) Session() signon.Session {
	if w := c.who(); w.signsOn {
		return w.session
	}
	return signon.Session{}
}

// Still is the request's session as it is now: a stream outlives what it began with, and keeps no session from being idle.
func (c *Request) Still() (signon.Session, error) {
	if c.group.site.opt.SignOn == nil || !c.SignsOn() {
		return signon.Session{}, nil
	}
	return c.group.site.opt.SignOn.Still(c.Request)
}

// whoStrip is who is signed on, at the head of every page.
type whoStrip struct {
	SignsOn bool
	Name    string // "" for nobody
	Bench   bool   // in the strength of the bench alone
}

func (c *Request) whoNow() whoStrip {
	of := c.Session()
	return whoStrip{c.SignsOn(), of.Person.Name, of.Strength == batch.AtBench}
}

// Here says whether the request comes from the station's own machine.
func (c *Request) Here() bool { return signon.OwnMachine(c.Request.RemoteAddr) }

// OwnPath is an address of ours that somebody wants to get to, else the bench.
func OwnPath(to string) string {
	u, err := url.Parse(to) // refuses control characters, which browsers drop: "/\t/host" would become "//host"
	if err == nil && u.Scheme == "" && u.Host == "" && strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "//") && !strings.Contains(to, "\\") {
		return to
	}
	return "/"
}

// passwordField is the name of the field in which a person signs.
const passwordField = "password"

// Signing adds to a form what signs an act of the right where people sign on: who signs, what it means, and the field of their own password.
func (c *Request) Signing(f *form.Form, r batch.Right) *form.Form {
	if c.SignsOn() && r.Signed() {
		f.Groups = append(f.Groups, form.Group{Title: "Signed by " + c.Session().Person.Name, Fields: []form.Field{
			{Name: passwordField, Label: "Your password", Kind: "secret", Auto: "current-password", Allowed: "it is asked each time: to " + string(r) + " is signed and kept with your name", Needed: true},
		}})
	}
	return f
}

// Sealed is the context of a signed act, with the seal of who is signed on, as the gate has proven it; a password that was not taken is refused under its field.
func (c *Request) Sealed(f *form.Form) context.Context {
	ctx := c.Request.Context()
	if c.SignsOn() {
		f.Text(passwordField, longestPath)
	}
	if err := batch.WhyUnsealed(ctx); err != nil {
		f.RefuseAt(passwordField, err)
	}
	return ctx
}
