package site

import (
	"errors"
	"html/template"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
)

// Request is a request for a page, or a form that was sent.
type Request struct {
	*gin.Context
	group *Group
}

// request is a request that no group has taken.
func (s *Site) request(c *gin.Context) *Request { return &Request{Context: c, group: s.plain} }

// Unit is the unit that lengths are shown and typed in: that which the page of a form showed, where the form says it, since another window
// may have switched meanwhile; else what the browser's switch is set to.
func (c *Request) Unit() unit.Unit {
	in := ""
	if c.Request.Method == http.MethodPost {
		in = c.PostForm("shown-in")
	}
	if in == "" {
		in, _ = c.Cookie("unit")
	}
	if in == unit.Inch.String() {
		return unit.Inch
	}
	return unit.Millimetre
}

// FromModule says that a page's module asks, not a plain form: it is answered with a sentence, not with a page.
func (c *Request) FromModule() bool { return c.GetHeader("X-From") == "module" }

const keyHouse = "house"

// House is for whom the record is kept. Where it cannot be read the page says so elsewhere, and a factory's is shown.
func (c *Request) House() batch.House {
	if h, known := c.Get(keyHouse); known {
		return h.(batch.House)
	}
	house := batch.Factory
	if read := c.group.site.opt.House; read != nil {
		if h, err := read(c.Request.Context()); err == nil && places[h] != nil {
			house = h
		}
	}
	c.Set(keyHouse, house)
	return house
}

// Words are those of the house.
func (c *Request) Words() tell.Words { return tell.WordsOf(c.House()) }

// To leads on to another page.
func (c *Request) To(path string) error {
	c.Redirect(http.StatusSeeOther, path)
	return nil
}

// page is what the layout shows around a page's own data.
type page struct {
	Name  string // of the template
	Place string // of the navigation
	Title string
	Unit  unit.Unit
	Light string // "light", "dark", or "" for the system's
	Path  string
	Demo  bool
	Data  any

	Who    whoStrip
	Hidden bool // people sign on and nobody is: the page shows nothing of the record

	Health healthStrip
	Alarms string // how many nobody has acknowledged, "" for none
}

// Show writes one page of the group.
func (c *Request) Show(status int, name, title string, data any) error {
	s := c.group.site
	t, ok := c.group.in[c.House()].pages[name]
	if !ok {
		return errors.New("there is no template " + name)
	}
	light, _ := c.Cookie("light")
	if light != "light" && light != "dark" {
		light = ""
	}
	p := page{
		Name: name, Place: c.group.place, Title: title, Unit: c.Unit(), Light: light, Path: c.Request.URL.RequestURI(), Demo: s.opt.Demo, Data: data,
		Who: c.whoNow(), Health: s.healthNow(), Alarms: s.alarmsNow(),
	}
	if p.Hidden = p.Who.SignsOn && p.Who.Name == ""; p.Hidden {
		p.Health, p.Alarms = healthStrip{}, ""
	}
	if c.Request.Method != http.MethodGet {
		p.Path = c.cameFrom()
	}
	return c.execute(t, "layout", status, p)
}

// ShowPart writes one of the parts that the group's pages share, without the layout.
func (c *Request) ShowPart(name string, data any) error {
	return c.execute(c.group.in[c.House()].parts, name, http.StatusOK, data)
}

// execute writes a template as a whole or not at all.
func (c *Request) execute(t *template.Template, name string, status int, data any) error {
	var out strings.Builder
	if err := t.ExecuteTemplate(&out, name, data); err != nil {
		return err
	}
	c.Data(status, "text/html; charset=utf-8", []byte(out.String()))
	return nil
}

// errorPage is the data of the page that says what went wrong.
type errorPage struct{ Sentence string }

// Fail answers with what could not be done: a sentence for a page's module, the error page otherwise.
func (c *Request) Fail(err error) {
	c.Abort()
	status := c.StatusOf(err)
	if c.Writer.Written() {
		return
	}
	text := tell.Sentence(err)
	if c.FromModule() {
		c.Data(status, "text/plain; charset=utf-8", []byte(text))
		return
	}
	c.group = c.group.site.plain
	if err := c.Show(status, "error", "Not done", errorPage{Sentence: text}); err != nil {
		logged(c.Context, status, err)
		c.Data(http.StatusInternalServerError, "text/plain; charset=utf-8", []byte("The page could not be made. Nothing recorded was changed by it.\n"))
	}
}
