package site

import (
	"context"
	"log/slog"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/station/bench/scan"
	"sagitta/station/signon"
)

// Anybody is the right that a route asks for which everybody may ask, signed on or not.
const Anybody batch.Right = ""

// SignOnPath is the page where people sign on.
const SignOnPath = "/sign-on"

// gate stands before every handler: where people sign on it asks who sends a request and whether they may. What a form is signed with is
// proven here, and the act's context carries the seal.
func (s *Site) gate(c *gin.Context) {
	if s.opt.SignOn == nil {
		return
	}
	r := s.request(c)
	if err := s.admit(r); err != nil {
		s.refuseAdmission(r, err)
	}
}

func (s *Site) admit(c *Request) error {
	session, err := c.Session(), error(nil)
	if !c.SignsOn() || c.FullPath() == "" {
		return nil
	}
	if session, err = s.scanned(c, session); err != nil {
		return err
	}
	w := c.Words()
	right, known := s.opt.Rights[c.Request.Method+" "+c.FullPath()]
	switch {
	case !known:
		return batch.Forbidden.Errorf("Nobody is given the right to %s %s.", c.Request.Method, c.FullPath())
	case right == Anybody:
		return nil
	case session.Person.ID == "" && c.seesBench():
		return nil
	case session.Person.ID == "":
		return batch.Unproven.Errorf("Nobody is signed on in this window. Sign on first.")
	case !session.Person.May(right):
		return batch.Forbidden.Errorf("%s is signed on as %s, who may not %s. This takes %s.", session.Person.Name, w.Role(session.Person.Role), w.Say(right), w.Takes(right))
	case !session.May(right):
		return batch.Unproven.Errorf("To %s you sign on with your password; %s signed on at the bench.", w.Say(right), session.Person.Name)
	}
	if err := s.atBench(c, session); err != nil {
		return err
	}
	s.seal(c, session)
	return nil
}

// seesBench says whether the request is for the bench's page or its stream, from the station's own machine: who stands before it sees it, and signs
// on there.
func (c *Request) seesBench() bool {
	return c.Here() && c.Request.Method == http.MethodGet && (c.FullPath() == "/" || c.FullPath() == "/events")
}

// benchElsewhere are the forms of other pages that the bench carries out.
var benchElsewhere = []string{"/gauges/:id/check", "/studies/:study/bench", "/studies/:study/leave", "/start/neck", "/instruments/:serial/bench"}

// atBench refuses what the bench is told by somebody else than who is at it.
func (s *Site) atBench(c *Request, session signon.Session) error {
	snap := s.snapshot()
	own := []string{"/bench/inspector", "/bench/show-hand"} // of whoever comes to the bench
	onBench := strings.HasPrefix(c.FullPath(), "/bench/") && !slices.Contains(own, c.FullPath()) || slices.Contains(benchElsewhere, c.FullPath())
	if snap == nil || c.Request.Method != http.MethodPost || !onBench {
		return nil
	}
	if snap.Inspector == session.Person.Name || s.badge(c) != "" {
		return nil
	}
	return batch.Conflict.Errorf("%s", tell.SomebodyElse(session.Person.Name, snap.Inspector))
}

// scanned signs the owner of a badge on whose code is sent as an entry at the bench, and returns the session of the request from now on.
func (s *Site) scanned(c *Request, session signon.Session) (signon.Session, error) {
	code := s.badge(c)
	if code == "" {
		return session, nil
	}
	p, err := s.opt.SignOn.SignOnBadge(c.Request.Context(), code)
	if err != nil {
		return session, err
	}
	return c.begin(p, session)
}

// begin gives the browser a session of who has just signed on at the bench; one of the same person stays as it is.
func (c *Request) begin(p batch.Person, session signon.Session) (signon.Session, error) {
	if session.Person.ID == p.ID {
		return session, nil
	}
	session = signon.Session{Person: p, Strength: batch.AtBench}
	c.Set(keyWho, who{session, true})
	c.Header("X-Signed-On", "yes") // for the page's module, whose stream is still that of who was here before
	return session, c.group.site.opt.SignOn.Begin(c.Writer, c.Request, p, batch.AtBench)
}

// AtBench is who the form of the bench says is at it from now on: where people sign on, whose badge, or name and PIN, it has, or else the session's person.
func (c *Request) AtBench() (string, error) {
	name, service := c.PostForm("name"), c.group.site.opt.SignOn
	if !c.SignsOn() {
		return name, nil
	}
	var p batch.Person
	var err error
	switch session, badge, pin := c.Session(), c.PostForm("badge"), c.PostForm("pin"); {
	case badge != "":
		p, err = service.SignOnBadge(c.Request.Context(), badge)
	case pin != "":
		p, err = service.SignOnPIN(c.Request.Context(), name, pin)
	case session.Person.ID == "":
		err = batch.Unproven.Errorf("Scan your badge, or give your name and PIN.")
	default:
		p = session.Person
	}
	switch {
	case err != nil:
		return "", err
	case !p.May(batch.Measure):
		return "", batch.Forbidden.Errorf("%s is entered as %s and does not measure. At the bench is %s.", p.Name, c.Words().Role(p.Role), c.Words().Takes(batch.Measure))
	}
	_, err = c.begin(p, c.Session())
	return p.Name, err
}

// Decider is who decides on a neck at the bench as the form says: where people sign on, the session's person, or who has proven themselves with their
// own password.
func (c *Request) Decider() (string, error) {
	by, me := strings.TrimSpace(c.PostForm("by")), c.Session().Person.Name
	if !c.SignsOn() || by == me {
		return by, nil
	}
	if by == "" {
		return me, nil
	}
	for _, seal := range batch.SealsIn(c.Request.Context()) {
		if seal.By == by {
			return by, nil
		}
	}
	if err := batch.WhyUnsealed(c.Request.Context()); err != nil {
		return "", err
	}
	return "", batch.Unproven.Errorf("%s gives their own password to decide.", by)
}

// badge is the code that was sent as an entry at the bench where it is somebody's badge, else "".
func (s *Site) badge(c *Request) string {
	if c.FullPath() != "/bench/entry" {
		return ""
	}
	code := scan.Of(c.PostForm("text"))
	if all, err := s.opt.People(c.Request.Context()); err == nil {
		for _, p := range all {
			if p.Badge != "" && code.Is(p.Badge) && !p.Retired {
				return p.Badge
			}
		}
	}
	return ""
}

// Names of the fields that a form is signed with.
const (
	fieldSecond         = "second"
	fieldSecondPassword = "second-password"
)

// seal proves the passwords that a form carries: its sender's, at the bench that of whoever the form names, and where it has one, a second person's.
func (s *Site) seal(c *Request, session signon.Session) {
	password := c.PostForm(passwordField)
	if c.Request.Method != http.MethodPost || password == "" {
		return
	}
	who := session.Person.Name
	if by := strings.TrimSpace(c.PostForm("by")); by != "" && c.FullPath() == "/bench/decide" {
		who = by
	}
	c.Request = c.Request.WithContext(s.sealed(c.Request.Context(), reasonOf(c), who, password, c.PostForm(fieldSecond), c.PostForm(fieldSecondPassword)))
}

// sealed is a context with the seals of one or two people, or with why there is none.
func (s *Site) sealed(ctx context.Context, reason, who, password, second, secondPassword string) context.Context {
	seal, err := s.opt.SignOn.Prove(ctx, who, password, reason)
	seals := []batch.Seal{seal}
	if err == nil && second != "" {
		seal, err = s.opt.SignOn.Prove(ctx, second, secondPassword, reason)
		seals = append(seals, seal)
	}
	if err != nil {
		return batch.WithoutSeal(ctx, err)
	}
	return batch.WithSeals(ctx, seals...)
}

// reasonOf is the reason that a form gives, in whichever of its fields.
func reasonOf(c *Request) string {
	for _, name := range []string{"reason", "note", "done"} {
		if text := strings.TrimSpace(c.PostForm(name)); text != "" {
			return text
		}
	}
	return ""
}

// refuseAdmission leads who has to sign on to the page for it, and back to the page that they wanted; everything else is told.
func (s *Site) refuseAdmission(c *Request, err error) {
	if batch.KindOf(err) == batch.Forbidden {
		noteRefusal(c.Request, c.Session().Person.Name)
	}
	if batch.KindOf(err) == batch.Unproven && c.Request.Method == http.MethodGet && !c.FromModule() && wantsPage(c.Request) {
		c.Abort()
		_ = c.To(SignOnPath + "?to=" + url.QueryEscape(c.Request.URL.RequestURI()))
		return
	}
	c.Fail(err)
}

// noteRefusal logs who was not let do what: a log writes what it holds in quotes, so that no address makes a line of its own.
func noteRefusal(r *http.Request, who string) {
	slog.Warn("not allowed", "who", who, "from", r.RemoteAddr, "method", r.Method, "path", r.URL.Path)
}

// wantsPage says that a browser asks for a page, not a stream, a script or a program for data.
func wantsPage(r *http.Request) bool {
	return !strings.Contains(r.Header.Get("Accept"), "text/event-stream")
}
