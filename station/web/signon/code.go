package signon

import (
	"net/http"

	"sagitta/batch"
	"sagitta/station/signon"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// codePage is where somebody with a one-time code chooses their own password and PIN.
type codePage struct {
	Code string // that was given and may be used, "" before
	Who  string // whom it is for, "" for the first administrator
	Form *form.Form
}

func codeForm() *form.Form {
	return &form.Form{Groups: []form.Group{{Fields: []form.Field{
		{Name: "code", Label: "One-time code", Kind: "text", Allowed: "20 letters and digits, with or without the hyphens", Needed: true, Focus: true},
	}}}}
}

// chooseForm asks for what a code's person chooses; who is "" for the first administrator, who gives their own name.
func chooseForm(who string) *form.Form {
	var fields []form.Field
	if who == "" {
		fields = append(fields, form.Field{Name: "name", Label: "Your name", Kind: "text", Auto: "username", Allowed: "as it stands in reports; 1 to 80 characters", Needed: true, Focus: true})
	}
	fields = append(fields, form.Field{Name: "password", Label: "Your password", Kind: "secret", Auto: "new-password", Allowed: signon.PasswordRule, Needed: true, Focus: who != ""})
	return &form.Form{Groups: []form.Group{{Fields: append(fields,
		form.Field{Name: "again", Label: "The password again", Kind: "secret", Auto: "new-password", Needed: true},
		form.Field{Name: "pin", Label: "Your PIN for the bench", Kind: "pin", Allowed: signon.PINRule + "; empty for none"},
	)}}}
}

// showCode asks for the code, or with the form given what its person chooses.
func (s *server) showCode(c *site.Request, status int, f *form.Form, code *codePage) error {
	if code == nil {
		code = &codePage{}
	}
	code.Form = f
	return c.Show(status, "code", "One-time code", code)
}

// code takes a code; once it is known to be good, what its person chooses.
func (s *server) code(c *site.Request) error {
	ctx := c.Request.Context()
	asked := codeForm()
	asked.Fill(c)
	code := asked.Text("code", longestText)
	if !asked.Ok() {
		return s.showCode(c, c.Refused(asked), asked, nil)
	}
	of, err := s.opt.SignOn.Code(ctx, code)
	if err != nil {
		asked.RefuseAt("code", err)
		return s.showCode(c, c.Refused(asked), asked, nil)
	}
	choose := &codePage{Code: code, Who: of.Person}
	f := chooseForm(of.Person)
	if c.PostForm("choosing") == "" {
		return s.showCode(c, http.StatusOK, f, choose)
	}
	f.Fill(c)
	if err := s.choose(c, f, code, of.Person); err != nil {
		f.Refuse(err)
	}
	if !f.Ok() {
		return s.showCode(c, c.Refused(f), f, choose)
	}
	return c.To("/")
}

// choose keeps what a code's person chose and signs them on.
func (s *server) choose(c *site.Request, f *form.Form, code, who string) error {
	name := who
	if who == "" {
		var err error
		if name, err = batch.PersonName(f.Text("name", longestText)); err != nil {
			f.RefuseAt("name", err)
		}
	}
	password, pin := f.Field("password").Value, f.Field("pin").Value
	s.checkNew(f, "password", name, password)
	if pin != "" {
		if err := signon.CheckPIN(pin); err != nil {
			f.RefuseAt("pin", err)
		}
	}
	if !f.Ok() {
		return nil
	}
	p, err := s.opt.SignOn.UseCode(c.Request.Context(), code, name, password, pin)
	if err != nil {
		return err
	}
	if s.opt.Bench != nil {
		if err := s.opt.Bench.ReloadShop(c.Request.Context()); err != nil {
			return err
		}
	}
	return s.begin(c, p, batch.ByPassword)
}

// checkNew says under its field what is wrong with a new password.
func (s *server) checkNew(f *form.Form, field, name, password string) {
	if err := s.opt.SignOn.CheckPassword(name, password); err != nil {
		f.RefuseAt(field, err)
	} else if f.Field("again").Value != password {
		f.Field("again").Fail("This differs from the password above: type both again.")
	}
}
