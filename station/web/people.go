package web

import (
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/bench"
)

// roleWords says what each role may do.
var roleWords = []option{
	{string(batch.Inspector), "inspector: measures and records rework", true},
	{string(batch.Repairer), "repairer: does what an inspector may not", false},
	{string(batch.QualityManager), "quality manager: opens and closes batches, releases specifications, grants concessions, changes what readings are judged by", false},
}

// peoplePage lists who works with the record.
type peoplePage struct {
	Sentence string
	People   []batch.Person
	Form     *form
}

func (s *server) peopleForm() *form {
	return &form{Groups: []fieldGroup{{Fields: []field{
		{Name: "name", Label: "Name", Kind: "text", Allowed: "as it stands in reports; 1 to 80 characters", Needed: true},
		{Name: "role", Label: "Role", Kind: "select", Options: slices.Clone(roleWords), Value: string(batch.Inspector), Needed: true},
	}}}}
}

func (s *server) people(c *gin.Context) { s.showPeople(c, http.StatusOK, s.peopleForm()) }

func (s *server) showPeople(c *gin.Context, status int, f *form) {
	all, err := s.opt.Record.People(c.Request.Context())
	if err != nil {
		s.fail(c, err)
		return
	}
	p := peoplePage{People: all, Form: f}
	n := map[batch.Role]int{}
	for _, who := range all {
		n[who.Role]++
	}
	if len(all) == 0 {
		p.Sentence = "Nobody is on file yet. Add the first person: a quality manager can open a batch."
	} else {
		p.Sentence = counted(n[batch.Inspector], "inspector", "inspectors") + ", " + counted(n[batch.Repairer], "repairer", "repairers") +
			", " + counted(n[batch.QualityManager], "quality manager", "quality managers") + "."
	}
	s.render(c, status, "people", "People", p)
}

func (s *server) addPerson(c *gin.Context) {
	f := s.peopleForm()
	f.fill(c)
	name, role := f.text("name", 80), batch.Role(f.choice("role"))
	if f.ok() {
		by := s.by(c)
		if by == "" {
			by = name
		}
		if _, err := s.opt.Record.AddPerson(c.Request.Context(), by, name, role); err != nil {
			f.Error = bench.Sentence(err)
		}
	}
	if !f.ok() {
		s.showPeople(c, http.StatusUnprocessableEntity, f)
		return
	}
	c.Redirect(http.StatusSeeOther, "/people")
}
