// Package site is the kernel of the station's pages: what every page shares whatever it shows. It makes requests safe, gives
// them layout, assets, switches and the health strip, and turns what a page could not do into a status and a sentence.
package site

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/bench"
	"sagitta/station/signon"
)

//go:embed assets templates
var files embed.FS

// Options are what the layout of every page shows and asks.
type Options struct {
	Snapshot func() *bench.Snapshot                            // of the bench; nil: the station has none
	People   func(ctx context.Context) ([]batch.Person, error) // who may act
	SignOn   *signon.Service                                   // nil: nobody ever signs on
	House    func(ctx context.Context) (batch.House, error)    // for whom the record is kept; nil: a factory
	Station  string                                            // its name, on paper
	Rights   map[string]batch.Right                            // what each route takes, by method and pattern; Anybody is none
	Demo     bool
	Hosts    []string // names by which the pages are reached, beside the machine's own; in small letters
	Now      func() time.Time
}

// Site serves the pages of its groups.
type Site struct {
	opt    Options
	engine *gin.Engine
	shared map[batch.House]*template.Template // the layout and what every page may show, in each house's words
	assets map[string]string                  // file name to its path with the content's hash
	plain  *Group                             // of the pages that belong to no group

	streams    streams
	bodyWithin time.Duration
}

// New parses the shared templates, so that a mistake in one stops the program at its start.
func New(opt Options) (*Site, error) {
	s := &Site{opt: opt, assets: map[string]string{}, streams: streams{open: map[string]int{}}, bodyWithin: bodyWithin}
	if err := s.hashAssets(); err != nil {
		return nil, err
	}
	if err := s.parse(); err != nil {
		return nil, err
	}
	gin.SetMode(gin.ReleaseMode)
	s.engine = gin.New()
	s.engine.UseRawPath = true // a serial number may hold a slash
	s.engine.HandleMethodNotAllowed = true
	s.engine.Use(gin.CustomRecovery(func(c *gin.Context, what any) {
		slog.Error("a page failed", "path", c.Request.URL.Path, "what", fmt.Sprint(what))
		s.request(c).Fail(errors.New(brokenSentence(c.Request.Method)))
	}), s.guard, s.gate)
	s.engine.NoRoute(func(c *gin.Context) {
		s.request(c).Fail(batch.Absent.Errorf("There is no page at %s.", c.Request.URL.Path))
	})
	s.engine.NoMethod(func(c *gin.Context) {
		s.request(c).Fail(refusal{fmt.Errorf("The address %s takes %s, not %s.", c.Request.URL.Path, tell.List(strings.Split(c.Writer.Header().Get("Allow"), ", ")), c.Request.Method), http.StatusMethodNotAllowed})
	})
	s.plain.GET("/assets/:hash/:name", s.asset)
	s.plain.GET("/health", s.health)
	s.plain.POST("/unit", choose("unit", "mm", "in"))
	s.plain.POST("/light", choose("light", "as the system", "light", "dark"))
	return s, nil
}

// Handler serves what the groups have registered.
func (s *Site) Handler() http.Handler {
	own := http.NewCrossOriginProtection()
	own.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		noteRefusal(r, "a page of another site")
		http.Error(w, "This was sent by a page of another site, and nothing of it was used.", http.StatusForbidden)
	}))
	return own.Handler(headAsGet(s.engine))
}

// Routes are the pages and the forms.
func (s *Site) Routes() gin.RoutesInfo { return s.engine.Routes() }

// guard stands before every page: what may be sent, by whom, and what a browser may do with the answer.
func (s *Site) guard(c *gin.Context) {
	c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, largestOf(c.Request))
	c.Header("Content-Security-Policy", "default-src 'self'; style-src 'self' 'unsafe-inline'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'")
	c.Header("Cache-Control", "no-store") // a shared machine keeps no page of a record; what may be kept says so itself
	c.Header("X-Content-Type-Options", "nosniff")
	c.Header("Referrer-Policy", "same-origin")
	_ = http.NewResponseController(c.Writer).SetWriteDeadline(time.Now().Add(answerWithin))
	err := s.ownHost(c.Request)
	if err == nil {
		err = s.readForm(c)
	}
	if err == nil {
		err = plainText(c.Request)
	}
	if err == nil {
		err = s.knowWho(c)
	}
	if err != nil {
		s.request(c).Fail(err)
	}
}

// brokenSentence says that a page failed by a mistake of the program. A form may have done its work before that.
func brokenSentence(method string) string {
	if method == http.MethodGet || method == http.MethodHead {
		return "The page could not be made. Nothing recorded was changed by it."
	}
	return "The answer could not be made. Whether it was recorded is not known: look on its page before you send it again."
}

// snapshot is the bench as it is now, nil where the station has none.
func (s *Site) snapshot() *bench.Snapshot {
	if s.opt.Snapshot == nil {
		return nil
	}
	return s.opt.Snapshot()
}

// alarmsNow says how many alarms are open, "" for none.
func (s *Site) alarmsNow() string {
	if snap := s.snapshot(); snap != nil {
		return AlarmCount(snap.AllAlarms)
	}
	return ""
}

// AlarmCount says how many alarms are open, "" for none.
func AlarmCount(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d open", n)
}

// logged notes what the machine could not do.
func logged(c *gin.Context, status int, err error) {
	slog.Error("not done", "method", c.Request.Method, "path", c.Request.URL.Path, "status", status, "error", err)
}
