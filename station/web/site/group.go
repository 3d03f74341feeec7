package site

import (
	"html/template"
	"io/fs"
	"maps"
	"net/http"
	"path"
	"regexp"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/export/label"
	"sagitta/station/web/draw"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
)

// Group is a set of pages with their templates.
type Group struct {
	site  *Site
	place string // of the navigation
	in    map[batch.House]*wording
}

// wording is a group's templates in the words of a house.
type wording struct {
	pages map[string]*template.Template
	parts *template.Template // what several of its pages show, to be written alone
}

// isPage matches the text of a template that is a page's content.
var isPage = regexp.MustCompile(`\{\{-? *define "content"`)

// Handler answers a request, or says why it does not.
type Handler func(c *Request) error

// Group makes a group of pages of the templates that lie in files: one that defines "content" is a page, named like its file;
// what the others define belongs to every page of the group. place is the link of the navigation that the group's pages mark, "" for none.
func (s *Site) Group(place string, files fs.FS, funcs template.FuncMap) (*Group, error) {
	g := &Group{site: s, place: place, in: map[batch.House]*wording{}}
	for house, shared := range s.shared {
		w, err := word(shared, files, funcs)
		if err != nil {
			return nil, err
		}
		g.in[house] = w
	}
	return g, nil
}

// word reads the templates that lie in files.
func word(shared *template.Template, files fs.FS, funcs template.FuncMap) (*wording, error) {
	w := &wording{pages: map[string]*template.Template{}}
	base, err := shared.Clone()
	if err != nil {
		return nil, err
	}
	base.Funcs(funcs)
	pages := map[string]string{}
	err = fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".html" {
			return err
		}
		text, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		if isPage.Match(text) {
			pages[strings.TrimSuffix(path.Base(name), ".html")] = string(text)
			return nil
		}
		_, err = base.New(path.Base(name)).Parse(string(text))
		return err
	})
	if err != nil {
		return nil, err
	}
	for name, text := range pages {
		t, err := base.Clone()
		if err != nil {
			return nil, err
		}
		if _, err := t.New(name).Parse(text); err != nil {
			return nil, err
		}
		w.pages[name] = t
	}
	w.parts = base
	return w, nil
}

// GET and POST register a page or a form.
func (g *Group) GET(path string, h Handler) { g.handle(http.MethodGet, path, h) }

// POST registers what a form is sent to.
func (g *Group) POST(path string, h Handler) { g.handle(http.MethodPost, path, h) }

func (g *Group) handle(method, path string, h Handler) {
	g.site.engine.Handle(method, path, func(c *gin.Context) {
		r := &Request{Context: c, group: g}
		if err := h(r); err != nil {
			r.Fail(err)
		}
	})
}

// Part writes one of the templates that the group's pages share, in the words of a house.
func (g *Group) Part(house batch.House, name string, data any) (string, error) {
	var out strings.Builder
	err := g.in[house].parts.ExecuteTemplate(&out, name, data)
	return out.String(), err
}

// place is a link of the navigation.
type place struct{ Name, Path string }

// places are where the pages of the groups are found, in each house. What a builder is not led to
// is still there by its address.
var places = map[batch.House][]place{
	batch.Factory: {{"Bench", "/"}, {"Batches", "/batches"}, {"Alarms", "/alarms"}, {"Trend", "/trend"}, {"Necks", "/necks"}, {"Specifications", "/specs"}, {"Gauges", "/gauges"}, {"People", "/people"}, {"Record", "/record"}},
	batch.Builder: {{"Instruments", "/instruments"}, {"Bench", "/"}, {"Gauges", "/gauges"}, {"People", "/people"}, {"Record", "/record"}},
}

// parse reads the layout and the parts that the pages of all groups may show, in each house's words.
func (s *Site) parse() error {
	s.shared = map[batch.House]*template.Template{}
	for house := range places {
		shared := template.New("shared").Funcs(s.funcs(house))
		for _, parts := range []fs.FS{form.Templates, show.Templates} {
			if _, err := shared.ParseFS(parts, "templates/*.html"); err != nil {
				return err
			}
		}
		if _, err := shared.ParseFS(files, "templates/layout.html", "templates/health.html"); err != nil {
			return err
		}
		s.shared[house] = shared
	}
	own, err := fs.Sub(files, "templates/plain")
	if err != nil {
		return err
	}
	s.plain, err = s.Group("", own, nil)
	return err
}

// funcs are what every template may call.
func (s *Site) funcs(house batch.House) template.FuncMap {
	funcs, words := show.Funcs(s.opt.Now), tell.WordsOf(house)
	maps.Copy(funcs, template.FuncMap{
		"asset":          s.assetPath,
		"places":         func() []place { return places[house] },
		"houseSays":      words.House,
		"houseInstead":   words.Instead,
		"builder":        words.Builder,
		"say":            words.Say,
		"role":           words.Role,
		"result":         words.Result,
		"paperHead":      s.paperHead,
		"stateShape":     draw.StateShape,
		"barCode":        draw.BarCode,
		"labelSizes":     func() []string { return label.Sizes },
		"troubleSince":   TroubleSince,
		"alarmCount":     AlarmCount,
		"batchPath":      BatchPath,
		"neckPath":       NeckPath,
		"instrumentPath": InstrumentPath,
		"alarmPath":      AlarmPath,
		"auditPath":      AuditPath,
	})
	return funcs
}
