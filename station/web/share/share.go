// Package share lets one device of the workshop in, such as a telephone at the bench: its person has an address with a token made, which the device
// takes once.
package share

import (
	"embed"
	"html/template"
	"net/http"
	"time"

	"sagitta/batch"
	"sagitta/station/bench/gate"
	"sagitta/station/signon"
	"sagitta/station/web/draw"
	"sagitta/station/web/site"
)

//go:embed templates
var files embed.FS

// Options are what the pages act on.
type Options struct {
	SignOn  *signon.Service
	Address string          // scheme and host by which other devices reach the station; "": none does
	Shifts  []time.Duration // after midnight, when shifts begin: a device is in until the next
	Now     func() time.Time
}

type server struct{ opt Options }

// Mount puts the pages on the site.
func Mount(k *site.Site, opt Options) error {
	g, err := k.Group("People", files, nil)
	if err != nil {
		return err
	}
	s := &server{opt: opt}
	g.GET("/share", s.ask)
	g.POST("/share", s.make)
	g.GET("/share/:token", s.offer)
	g.POST("/share/:token", s.take)
	return nil
}

// sharePage is the page of who wants to let a device in.
type sharePage struct {
	Who   string // "": why not
	Why   string
	Link  string
	Code  template.HTML
	Until time.Time
	Ends  time.Time
}

// may is why the request's person cannot let a device in, "" where they can.
func (s *server) may(c *site.Request) string {
	switch session := c.Session(); {
	case !c.SignsOn():
		return "Nobody signs on in this record, and it is for this machine only: no other device can be let in."
	case s.opt.Address == "":
		return "This station is for this machine only: no other device reaches it until it is started with --listen and an address of the machine."
	case session.Strength != batch.ByPassword:
		return "Sign on with your password, on this machine or another, to let one of your devices in: a badge or a PIN does not."
	}
	return ""
}

func (s *server) ask(c *site.Request) error {
	return c.Show(http.StatusOK, "share", "Let a device in", sharePage{Who: c.Session().Person.Name, Why: s.may(c), Ends: s.ends(c.Session().Person)})
}

func (s *server) make(c *site.Request) error {
	if why := s.may(c); why != "" {
		return batch.Conflict.Errorf("%s", why)
	}
	name := c.Session().Person.Name
	token, until, err := s.opt.SignOn.Share(c.Request.Context(), name, name)
	if err != nil {
		return err
	}
	link := s.opt.Address + "/share/" + token
	return c.Show(http.StatusOK, "share", "Let a device in", sharePage{Who: name, Link: link, Code: draw.QRCode(link), Until: until.Local(), Ends: s.ends(c.Session().Person)})
}

// offerPage is what the device shows first: taking a way in is a press, so that no look at the address ahead uses it up.
type offerPage struct {
	Who  string
	Ends time.Time
}

func (s *server) offer(c *site.Request) error {
	p, err := s.opt.SignOn.Shared(c.Request.Context(), c.Param("token"))
	if err != nil {
		return err
	}
	return c.Show(http.StatusOK, "offer", "Sign this device on", offerPage{p.Name, s.ends(p)})
}

func (s *server) take(c *site.Request) error {
	if _, err := s.opt.SignOn.BeginShared(c.Writer, c.Request, c.Param("token"), gate.ShiftEnds(s.opt.Shifts, s.opt.Now())); err != nil {
		return err
	}
	return c.To("/bench")
}

// ends is until when a device of somebody stays signed on that is let in now.
func (s *server) ends(p batch.Person) time.Time {
	return s.opt.SignOn.Ends(p, gate.ShiftEnds(s.opt.Shifts, s.opt.Now()))
}
