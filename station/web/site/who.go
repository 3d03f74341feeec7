package site

import (
	"strings"

	"sagitta/batch"
	"sagitta/station/web/form"
)

// By is who acts: where people sign on, the session's person whatever a form says; else whoever the form names, else the inspector on the bench, else
// nobody.
func (c *Request) By() string {
	if c.SignsOn() {
		return c.Session().Person.Name
	}
	if name := strings.TrimSpace(c.PostForm("by")); name != "" {
		return name
	}
	if snap := c.group.site.snapshot(); snap != nil {
		return snap.Inspector
	}
	return ""
}

// ByField says who does what takes a right. Where people sign on that is the session's person, with their password where it is signed; else one of
// those who have the right, the inspector on the bench, or the only one, chosen beforehand.
func (c *Request) ByField(right batch.Right) (form.Field, error) {
	if c.SignsOn() {
		return c.signedField(right), nil
	}
	fd := form.Field{Name: "by", Label: "By", Kind: "select", Needed: true, Options: []form.Option{{Label: "choose who you are"}}}
	takes := c.Words().Takes(right)
	if right != batch.Measure {
		fd.Allowed = takes
	}
	all, err := c.group.site.opt.People(c.Request.Context())
	if err != nil {
		return fd, err
	}
	now := c.By()
	for _, p := range all {
		if p.May(right) {
			fd.Options = append(fd.Options, form.Option{Value: p.Name, Label: p.Name, On: p.Name == now})
			if p.Name == now {
				fd.Value = now
			}
		}
	}
	if len(fd.Options) == 1 {
		fd.Missing = "Nobody is on file yet."
		if right != batch.Measure {
			fd.Missing = "No " + strings.TrimPrefix(strings.TrimPrefix(takes, "an "), "a ") + " is on file yet."
		}
	}
	if len(fd.Options) == 2 {
		fd.Options[1].On, fd.Value = true, fd.Options[1].Value
	}
	return fd, nil
}

// signedField names the session's person, and takes their password for what is signed.
func (c *Request) signedField(right batch.Right) form.Field {
	name := c.Session().Person.Name
	fd := form.Field{Name: "by", Label: "By", Kind: "signed", Value: name, Options: []form.Option{{Value: name, Label: name, On: true}}, Barred: c.Barred(right)}
	if fd.Barred == "" && right.Signed() {
		fd.Meaning, fd.Needed = string(right), true
	}
	return fd
}

// Barred is why who is signed on may not do what takes a right, "" where they may or nobody signs on.
func (c *Request) Barred(right batch.Right) string {
	session := c.Session()
	switch {
	case !c.SignsOn() || session.May(right):
		return ""
	case !session.Person.May(right):
		return "To " + c.Words().Say(right) + " takes " + c.Words().Takes(right) + "."
	}
	return "To " + c.Words().Say(right) + " takes signing on with your password."
}
