package people

import (
	"slices"

	"sagitta/batch"
	"sagitta/station/web/form"
	"sagitta/station/web/site"
)

// act is something that is done about people. Where people sign on an administrator does it, and signs.
type act struct {
	title, words, button string
	signsOn              bool // only where people sign on
	ofPeople             bool // only where somebody is on file
	fields               func(people []batch.Person, signsOn bool) []form.Field
	do                   func(s *server, c *site.Request, f *form.Form) (*issued, error) // what is wrong with fields is told in the form
}

// order is that of the acts on the page.
var order = []string{"/people", "/people/badge", "/people/code", "/people/role", "/people/retire", "/people/sign-on"}

// acts are by where their forms are sent.
var acts = map[string]act{
	"/people": {title: "Add a person", button: "Add", fields: func([]batch.Person, bool) []form.Field {
		return []form.Field{
			{Name: "name", Label: "Name", Kind: "text", Allowed: "as it stands in reports; 1 to 80 characters", Needed: true},
			roleField(),
		}
	}, do: add},
	"/people/badge": {title: "Give a person a badge", button: "Save the badge", ofPeople: true,
		words: "A badge scanned at the bench says who measures from then on, also in the middle of a neck. It is no secret: whoever has it can use it.",
		fields: func(people []batch.Person, _ bool) []form.Field {
			return []form.Field{personField(people),
				{Name: "badge", Label: "Code of the badge", Kind: "text", Allowed: "as a scanner reads it, e.g. WH-01 or 00417; empty takes the badge away"}}
		}, do: setBadge},
	"/people/code": {title: "Issue a one-time code", button: "Issue the code", signsOn: true,
		words:  "With it a person chooses their own password and PIN, for the first time or because one was forgotten: what they had before ends then.",
		fields: func(people []batch.Person, _ bool) []form.Field { return []form.Field{personField(people)} }, do: issue},
	"/people/role": {title: "Change what a person may", button: "Change it", ofPeople: true, fields: func(people []batch.Person, _ bool) []form.Field {
		return []form.Field{personField(people), roleField(),
			{Name: "administers", Label: "Beside it", Kind: "check", Options: []form.Option{{Value: "yes", Label: "administers people: enters them, changes what they may, retires them"}}}}
	}, do: setRole},
	"/people/retire": {title: "Retire a person", button: "Retire", ofPeople: true,
		words: "Whoever is retired may do nothing any more and cannot sign on. What they did stays theirs, and so does the name.",
		fields: func(people []batch.Person, signsOn bool) []form.Field {
			if !signsOn {
				return []form.Field{personField(people)}
			}
			return []form.Field{personField(people), {Name: "reason", Label: "Reason", Kind: "text", Allowed: "as it stands with the signature"}}
		}, do: retire},
	"/people/sign-on": {title: "Work without sign-on", button: "Nobody signs on from now", signsOn: true,
		words: "For a shop of one: nothing asks for passwords any more, and the station is reached from its own machine only. Everybody's passwords stay for when people sign on again.",
		fields: func([]batch.Person, bool) []form.Field {
			return []form.Field{{Name: "reason", Label: "Reason", Kind: "text", Allowed: "as it stands with the signature", Needed: true}}
		}, do: signOnNoMore},
}

func roleField() form.Field {
	return form.Field{Name: "role", Label: "Role", Kind: "select", Options: []form.Option{
		{Value: string(batch.Inspector), Label: "inspector: measures and records rework", On: true},
		{Value: string(batch.Repairer), Label: "repairer: does what an inspector may not"},
		{Value: string(batch.QualityManager), Label: "quality manager: opens and closes batches, releases specifications, grants concessions, changes what readings are judged by"},
		{Value: string(batch.Auditor), Label: "auditor: reads pages, and the record's trail"},
		{Value: string(batch.Viewer), Label: "viewer: reads pages"},
	}, Value: string(batch.Inspector), Needed: true}
}

func personField(people []batch.Person) form.Field {
	who := form.Field{Name: "person", Label: "Person", Kind: "select", Needed: true}
	for _, p := range people {
		who.Options = append(who.Options, form.Option{Value: p.Name, Label: p.Name})
	}
	return who
}

func add(s *server, c *site.Request, f *form.Form) (*issued, error) {
	name, role := f.Text("name", 80), batch.Role(f.Choice("role"))
	ctx, by := c.Sealed(f), c.By()
	if !f.Ok() {
		return nil, nil
	}
	if by == "" {
		by = name // the first
	}
	_, err := s.opt.Record.AddPerson(ctx, by, name, role)
	return nil, err
}

func setBadge(s *server, c *site.Request, f *form.Form) (*issued, error) {
	name, code := f.Choice("person"), f.Text("badge", 30)
	ctx := c.Sealed(f)
	if !f.Ok() {
		return nil, nil
	}
	return nil, s.opt.Record.SetBadge(ctx, c.By(), name, code)
}

func issue(s *server, c *site.Request, f *form.Form) (*issued, error) {
	name := f.Choice("person")
	ctx := c.Sealed(f)
	if !f.Ok() || s.opt.Codes == nil {
		return nil, nil
	}
	code, until, err := s.opt.Codes.IssueCode(ctx, c.By(), name)
	return &issued{name, code, until}, err
}

func setRole(s *server, c *site.Request, f *form.Form) (*issued, error) {
	name, role := f.Choice("person"), batch.Role(f.Choice("role"))
	ctx := c.Sealed(f)
	if !f.Ok() {
		return nil, nil
	}
	return nil, s.opt.Record.SetRole(ctx, c.By(), name, role, slices.Contains(f.Field("administers").Chosen(), "yes"))
}

func retire(s *server, c *site.Request, f *form.Form) (*issued, error) {
	name := f.Choice("person")
	f.Text("reason", 200)
	ctx := c.Sealed(f)
	if !f.Ok() {
		return nil, nil
	}
	return nil, s.opt.Record.Retire(ctx, c.By(), name)
}

func signOnNoMore(s *server, c *site.Request, f *form.Form) (*issued, error) {
	f.Text("reason", 200)
	ctx := c.Sealed(f)
	if !f.Ok() {
		return nil, nil
	}
	return nil, s.opt.Record.SetPeopleSignOn(ctx, c.By(), false)
}
