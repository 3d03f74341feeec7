package site

import (
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"
)

// choose keeps one of the allowed choices in a cookie and goes back to the page it came from.
func choose(name string, allowed ...string) Handler {
	return func(c *Request) error {
		chosen := c.PostForm(name)
		if slices.Contains(allowed, chosen) {
			http.SetCookie(c.Writer, &http.Cookie{Name: name, Value: strings.ReplaceAll(chosen, " ", "-"), Path: "/", MaxAge: 400 * 24 * 3600, SameSite: http.SameSiteLaxMode, HttpOnly: true})
		}
		return c.To(c.Back())
	}
}

// WithoutDoubt reports that the page is asked for without the first measurements that are in doubt.
func (c *Request) WithoutDoubt() bool { return c.Query("without") == "doubt" }

// Back is the page of ours that a form says it was sent from, else the bench.
func (c *Request) Back() string {
	return OwnPath(c.PostForm("back"))
}

// cameFrom is the page of ours that a form was sent from, as its browser tells; else the bench. A form that is refused again
// was sent from an address that only takes forms: then it is the nearest page above it.
func (c *Request) cameFrom() string {
	u, err := url.Parse(c.Request.Referer())
	if err != nil || u.Host != c.Request.Host || !strings.HasPrefix(u.Path, "/") {
		return "/"
	}
	s := c.group.site
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
func (s *Site) shows(at string) bool {
	parts := strings.Split(at, "/")
	return slices.ContainsFunc(s.Routes(), func(r gin.RouteInfo) bool {
		pattern := strings.Split(r.Path, "/")
		return r.Method == http.MethodGet && slices.EqualFunc(pattern, parts, func(p, part string) bool { return p == part || strings.HasPrefix(p, ":") && part != "" })
	})
}
