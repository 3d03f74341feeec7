// Package web serves the station's pages: server-rendered HTML with small ES modules, live parts by server-sent events,
// every asset embedded.
package web

import (
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"log/slog"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/devices"
	"sagitta/inspect/unit"
	"sagitta/station/bench"
)

//go:embed assets templates
var files embed.FS

// largestRequest bounds what a page may send: a specification or a list of serial numbers is far smaller.
const largestRequest = 4 << 20

// Options are what the pages show and act on.
type Options struct {
	Bench         Bench
	Record        Record
	Demo          Demo // nil outside the demo
	Ports         Ports
	Lines         Lines                                          // nil: ports cannot be listened to
	GaugesChanged func(ctx context.Context) error                // told when a gauge's entry was added, changed or retired
	GaugeFits     func(ctx context.Context, g batch.Gauge) error // whether the station could open all lines with this entry; nil: not asked
	Typed         func(devices.Burst) string                     // a burst of keys goes to the gauge that typed it: its ID, "" when none did
	Station       string
	Version       string           // of the program, one line
	Now           func() time.Time // time.Now unless given
}

type server struct {
	search search // of an unknown gauge's decoder
	opt    Options
	pages  map[string]*template.Template
	parts  *template.Template    // the bench page's parts
	assets map[string]string     // file name to its path with the content's hash
	routes func() gin.RoutesInfo // of the pages and the forms
}

// New parses every template, so that a mistake in one stops the program at its start, and returns the pages' handler.
func New(opt Options) (http.Handler, error) {
	if opt.Now == nil {
		opt.Now = time.Now
	}
	s := &server{opt: opt, pages: map[string]*template.Template{}, assets: map[string]string{}}
	if err := s.hashAssets(); err != nil {
		return nil, err
	}
	if err := s.parse(); err != nil {
		return nil, err
	}
	gin.SetMode(gin.ReleaseMode)
	r := gin.New()
	s.routes = r.Routes
	r.UseRawPath = true // a serial number may hold a slash
	r.Use(gin.CustomRecovery(func(c *gin.Context, what any) {
		slog.Error("a page failed", "path", c.Request.URL.Path, "what", fmt.Sprint(what))
		s.refuse(c, http.StatusInternalServerError, "The page could not be made. Nothing recorded was changed by it.")
	}), func(c *gin.Context) {
		c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, largestOf(c.Request))
		c.Header("Content-Security-Policy", "default-src 'self'; style-src 'self' 'unsafe-inline'; frame-ancestors 'none'")
		c.Header("X-Content-Type-Options", "nosniff")
		c.Header("Referrer-Policy", "same-origin")
		if s.ownHost(c); !c.IsAborted() {
			s.readForm(c)
		}
	})
	r.NoRoute(func(c *gin.Context) {
		s.refuse(c, http.StatusNotFound, "There is no page at "+c.Request.URL.Path+".")
	})
	r.GET("/assets/:hash/:name", s.asset)
	r.GET("/health", s.health)
	r.POST("/unit", choose("unit", "mm", "in"))
	r.POST("/light", choose("light", "as the system", "light", "dark"))
	s.benchRoutes(r)
	s.managingRoutes(r)
	s.studyRoutes(r)
	s.alarmRoutes(r)
	s.outgoingRoutes(r)
	s.trendRoutes(r)
	return http.NewCrossOriginProtection().Handler(r), nil
}

// parse reads the layout, every page and the bench page's parts.
func (s *server) parse() error {
	funcs := s.funcs()
	names, err := fs.Glob(files, "templates/*.html")
	if err != nil {
		return err
	}
	shared := []string{"templates/layout.html", "templates/chart.html", "templates/alarm.html", "templates/audittable.html", "templates/batchstats.html", "templates/field.html", "templates/gauge-now.html", "templates/health.html", "templates/doubts.html", "templates/parts.html", "templates/sweep.html"}
	for _, name := range names {
		if slices.Contains(shared, name) {
			continue
		}
		list := append(append([]string{}, shared...), name)
		t, err := template.New("layout.html").Funcs(funcs).ParseFS(files, list...)
		if err != nil {
			return err
		}
		s.pages[strings.TrimSuffix(path.Base(name), ".html")] = t
	}
	s.parts, err = template.New("parts.html").Funcs(funcs).ParseFS(files, "templates/parts.html", "templates/sweep.html")
	return err
}

// funcs are what every template may call.
func (s *server) funcs() template.FuncMap {
	funcs := pageFuncs(s.opt.Now)
	for name, f := range benchFuncs(s.opt.Now) {
		funcs[name] = f
	}
	funcs["stateShape"] = stateShape
	funcs["asset"] = func(name string) (string, error) {
		if p, ok := s.assets[name]; ok {
			return p, nil
		}
		return "", fmt.Errorf("no asset %q", name)
	}
	return funcs
}

// hashAssets gives every asset a path that changes with its content, so that browsers may keep it for ever.
func (s *server) hashAssets() error {
	return fs.WalkDir(files, "assets", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := files.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(text)
		base := path.Base(name)
		s.assets[base] = "/assets/" + hex.EncodeToString(sum[:6]) + "/" + base
		return nil
	})
}

// asset serves one embedded file.
func (s *server) asset(c *gin.Context) {
	if s.assets[c.Param("name")] != c.Request.URL.Path {
		s.refuse(c, http.StatusNotFound, "There is no file at "+c.Request.URL.Path+".")
		return
	}
	c.Header("Cache-Control", "public, max-age=31536000, immutable")
	c.FileFromFS("assets/"+c.Param("name"), http.FS(files))
}

// readForm reads what a form sent before anything acts on it: fields that were cut off must not pass for empty ones.
func (s *server) readForm(c *gin.Context) {
	if c.Request.Method != http.MethodPost {
		return
	}
	err := c.Request.ParseForm()
	if err == nil {
		err = c.Request.ParseMultipartForm(largestRequest)
	}
	var large *http.MaxBytesError
	switch {
	case err == nil, errors.Is(err, http.ErrNotMultipart):
	case errors.As(err, &large):
		s.answer(c, http.StatusRequestEntityTooLarge, fmt.Sprintf("What was sent is longer than %d MB: nothing of it was used.", largestOf(c.Request)>>20))
	default:
		s.answer(c, http.StatusBadRequest, "What was sent is not a whole form: nothing of it was used.")
	}
}

// largestOf is how much a request may send: a calibration certificate comes with its file.
func largestOf(r *http.Request) int64 {
	if strings.HasPrefix(r.URL.Path, "/gauges/") && strings.HasSuffix(r.URL.Path, "/certificates") {
		return batch.LargestCertificate + largestRequest
	}
	return largestRequest
}

// answer tells a refusal: a sentence for a page's module, the error page for a plain form.
func (s *server) answer(c *gin.Context, status int, text string) {
	if c.GetHeader("X-From") != "module" {
		s.refuse(c, status, text)
		return
	}
	c.Data(status, "text/plain; charset=utf-8", []byte(text))
	c.Abort()
}

// choose keeps one of the allowed choices in a cookie and goes back to the page it came from.
func choose(name string, allowed ...string) gin.HandlerFunc {
	return func(c *gin.Context) {
		chosen := c.PostForm(name)
		for _, a := range allowed {
			if chosen == a {
				http.SetCookie(c.Writer, &http.Cookie{Name: name, Value: strings.ReplaceAll(chosen, " ", "-"), Path: "/", MaxAge: 400 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true})
			}
		}
		c.Redirect(http.StatusSeeOther, backTo(c))
	}
}

// backTo is the page of ours that a form was sent from, else the bench.
func backTo(c *gin.Context) string {
	to := c.PostForm("back")
	u, err := url.Parse(to) // refuses control characters, which browsers drop: "/\t/host" would become "//host"
	if err == nil && u.Scheme == "" && u.Host == "" && strings.HasPrefix(to, "/") && !strings.HasPrefix(to, "//") && !strings.Contains(to, "\\") {
		return to
	}
	return "/"
}

// cameFrom is the page of ours that a form was sent from, as its browser tells; else the bench. A form that is refused again
// was sent from an address that only takes forms: then it is the nearest page above it.
func (s *server) cameFrom(c *gin.Context) string {
	u, err := url.Parse(c.Request.Referer())
	if err != nil || u.Host != c.Request.Host || !strings.HasPrefix(u.Path, "/") {
		return "/"
	}
	at := u.EscapedPath()
	if s.shows(at) {
		return u.RequestURI()
	}
	for at != "/" && !s.shows(at) {
		at = path.Dir(at)
	}
	return at
}

// shows says whether a page can be got at a path.
func (s *server) shows(at string) bool {
	parts := strings.Split(at, "/")
	return slices.ContainsFunc(s.routes(), func(r gin.RouteInfo) bool {
		pattern := strings.Split(r.Path, "/")
		return r.Method == http.MethodGet && slices.EqualFunc(pattern, parts, func(p, part string) bool { return p == part || strings.HasPrefix(p, ":") && part != "" })
	})
}

// page is what the layout shows around a page's own data.
type page struct {
	Name  string // of the template; also marks the place in the navigation
	Title string
	Unit  unit.Unit
	Light string // "light", "dark", or "" for the system's
	Path  string
	Demo  bool
	Data  any

	Health healthStrip
	Alarms string // how many nobody has acknowledged, "" for none
}

// render writes one page.
func (s *server) render(c *gin.Context, status int, name, title string, data any) {
	t, ok := s.pages[name]
	if !ok {
		s.fail(c, fmt.Errorf("no template %q", name))
		return
	}
	light, _ := c.Cookie("light")
	if light != "light" && light != "dark" {
		light = ""
	}
	var out strings.Builder
	p := page{Name: name, Title: title, Unit: unitOf(c), Light: light, Path: c.Request.URL.RequestURI(), Demo: s.opt.Demo != nil, Data: data, Health: s.healthNow(), Alarms: s.alarmsNow()}
	if c.Request.Method != http.MethodGet {
		p.Path = s.cameFrom(c)
	}
	if err := t.ExecuteTemplate(&out, "layout", p); err != nil {
		slog.Error("a page failed", "name", name, "error", err)
		c.Data(http.StatusInternalServerError, "text/plain; charset=utf-8", []byte("The page could not be made. Nothing recorded was changed by it.\n"))
		return
	}
	c.Data(status, "text/html; charset=utf-8", []byte(out.String()))
}

// errorPage is the data of the page that says what went wrong.
type errorPage struct{ Sentence string }

// refuse shows a sentence on the error page.
func (s *server) refuse(c *gin.Context, status int, text string) {
	s.render(c, status, "error", "Not done", errorPage{Sentence: text})
	c.Abort()
}

// fail shows an error on the error page with the status that fits it: the one place that maps errors to statuses.
func (s *server) fail(c *gin.Context, err error) {
	status := http.StatusInternalServerError
	switch {
	case errors.Is(err, record.ErrUnknown), errors.Is(err, record.ErrUnknownSerial):
		status = http.StatusNotFound
	case errors.Is(err, record.ErrExists), errors.Is(err, record.ErrState), errors.Is(err, record.ErrFrozen):
		status = http.StatusConflict
	case errors.Is(err, record.ErrInput):
		status = http.StatusUnprocessableEntity
	case errors.Is(err, context.Canceled):
		status = 499 // the browser went away
	}
	if status == http.StatusInternalServerError {
		slog.Error("not done", "path", c.Request.URL.Path, "error", err)
	}
	s.refuse(c, status, bench.Sentence(err))
}
