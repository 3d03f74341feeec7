package site

import (
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/station/web/form"
)

// By is who acts: who is signed on; where nobody signs on whoever the form names, else the inspector on the bench, else nobody.
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

// ByField offers the people of the given roles (any, when none is given); the inspector on the bench, or the only one,
// is chosen beforehand.
func (c *Request) ByField(roles ...batch.Role) (form.Field, error) {
	fd := form.Field{Name: "by", Label: "By", Kind: "select", Needed: true, Options: []form.Option{{Label: "choose who you are"}}}
	if len(roles) > 0 {
		fd.Allowed = "a " + string(roles[0])
	}
	all, err := c.group.site.opt.People(c.Request.Context())
	if err != nil {
		return fd, err
	}
	now := c.By()
	for _, p := range all {
		if len(roles) == 0 || slices.Contains(roles, p.Role) {
			fd.Options = append(fd.Options, form.Option{Value: p.Name, Label: p.Name, On: p.Name == now})
			if p.Name == now {
				fd.Value = now
			}
		}
	}
	if len(fd.Options) == 1 {
		fd.Missing = "Nobody is on file yet."
		if len(roles) > 0 {
			fd.Missing = "No " + string(roles[0]) + " is on file yet."
		}
	}
	if len(fd.Options) == 2 {
		fd.Options[1].On, fd.Value = true, fd.Options[1].Value
	}
	return fd, nil
}
