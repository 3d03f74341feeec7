package signon

import (
	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/signon"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// ownPage is what somebody sees of their own sign-on.
type ownPage struct {
	Person   batch.Person
	Password *form.Form
	PIN      *form.Form
	Sessions []signon.OpenSession
	Others   int // sessions beside the browser's own
}

func passwordChange() *form.Form {
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "old", Label: "Your password until now", Kind: "secret", Auto: "current-password", Needed: true},
		{Name: "new", Label: "Your new password", Kind: "secret", Auto: "new-password", Allowed: signon.PasswordRule, Needed: true},
		{Name: "again", Label: "The new password again", Kind: "secret", Auto: "new-password", Needed: true},
	}}}}).Apart("password")
}

func pinChange() *form.Form {
	return (&form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "old", Label: "Your password", Kind: "secret", Auto: "current-password", Needed: true},
		{Name: "pin", Label: "Your new PIN", Kind: "pin", Allowed: signon.PINRule, Needed: true},
	}}}}).Apart("pin")
}

func (s *server) showOwn(c *site.Request, status int, password, pin *form.Form) error {
	p := ownPage{Person: c.Session().Person, Password: password, PIN: pin}
	if p.Person.ID == "" {
		return notSignedOn()
	}
	var err error
	if p.Sessions, err = s.opt.SignOn.OfPerson(c.Request, p.Person); err != nil {
		return err
	}
	for _, of := range p.Sessions {
		if !of.Own {
			p.Others++
		}
	}
	return c.Show(status, "own", "Your sign-on", p)
}

func notSignedOn() error {
	return batch.Unproven.Errorf("nobody is signed on in this browser: sign on first")
}

// changed keeps a new secret, after which every session of its person ended but the new one of this browser.
func (s *server) changed(c *site.Request, keep func(name string) error) error {
	session := c.Session()
	if session.Person.ID == "" {
		return notSignedOn()
	}
	if err := keep(session.Person.Name); err != nil {
		return err
	}
	return s.begin(c, session.Person, session.Strength)
}

func (s *server) changePassword(c *site.Request) error {
	f := passwordChange()
	f.Fill(c)
	name, password := c.Session().Person.Name, f.Field("new").Value
	f.Text("old", longestText)
	s.checkNew(f, "new", name, password)
	if f.Ok() {
		if err := s.changed(c, func(name string) error {
			return s.opt.SignOn.ChangePassword(c.Request.Context(), name, f.Field("old").Value, password)
		}); err != nil {
			f.RefuseAt("old", err)
		}
	}
	if !f.Ok() {
		return s.showOwn(c, c.Refused(f), f, pinChange())
	}
	return c.To(Path + "/own")
}

func (s *server) changePIN(c *site.Request) error {
	f := pinChange()
	f.Fill(c)
	f.Text("old", longestText)
	pin := f.Field("pin").Value
	if err := signon.CheckPIN(pin); err != nil {
		f.RefuseAt("pin", err)
	}
	if f.Ok() {
		if err := s.changed(c, func(name string) error {
			return s.opt.SignOn.ChangePIN(c.Request.Context(), name, f.Field("old").Value, pin)
		}); err != nil {
			f.RefuseAt("old", err)
		}
	}
	if !f.Ok() {
		return s.showOwn(c, c.Refused(f), passwordChange(), f)
	}
	return c.To(Path + "/own")
}

func (s *server) endOthers(c *site.Request) error {
	session := c.Session()
	if session.Person.ID == "" {
		return notSignedOn()
	}
	if _, err := s.opt.SignOn.EndOthers(c.Request, session.Person); err != nil {
		return err
	}
	return c.To(Path + "/own")
}

// StrengthWords says how a session was begun.
func (p ownPage) StrengthWords(s batch.Strength) string { return tell.Strength(s) }
