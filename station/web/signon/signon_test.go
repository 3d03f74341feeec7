package signon

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// bench notes what it is told.
type bench struct{ off, reloaded []string }

func (b *bench) SignOff(_ context.Context, name string) error {
	b.off = append(b.off, name)
	return nil
}
func (b *bench) ReloadShop(context.Context) error {
	b.reloaded = append(b.reloaded, "people")
	return nil
}

// signedOn is a shop in which people sign on.
func signedOn(t *testing.T) (*webtest.Shop, *bench) {
	s, b := webtest.Open(t).Fill().SignsOn(), &bench{}
	return mounted(s, b), b
}

func mounted(s *webtest.Shop, b *bench) *webtest.Shop {
	s.Rights = map[string]batch.Right{"GET /sign-on/own": batch.Look, "POST /sign-on/own/password": batch.Look, "POST /sign-on/own/pin": batch.Look, "POST /sign-on/own/sessions": batch.Look}
	for _, route := range []string{"GET /sign-on", "POST /sign-on", "POST /sign-on/bench", "GET /sign-on/code", "POST /sign-on/code", "POST /sign-off"} {
		s.Rights[route] = site.Anybody
	}
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{SignOn: s.SignOn, Bench: b}) })
}

// One signs on with name and password, lands where one wanted to go, on no other site, and the strip says who is signed on.
func TestSignOnWithAPassword(t *testing.T) {
	s, b := signedOn(t)
	webtest.Wants(t, s.Get("/sign-on?to=%2Fgauges%3Fall%3D1", 200), "Nobody is signed on", `name="to" value="/gauges?all=1"`, "badge, or name and PIN")
	page := s.Post("/sign-on", url.Values{"name": {"Mara Quill"}, "password": {"four herons mend a violet door"}}, 401)
	webtest.Wants(t, page, "Name and password do not belong together", `value="Mara Quill"`)
	if strings.Contains(page, "violet") {
		t.Error("the password stands in the page")
	}
	if nobody := s.Post("/sign-on", url.Values{"name": {"Nobody Known"}, "password": {"four herons mend a violet door"}}, 401); !strings.Contains(nobody, "Name and password do not belong together") {
		t.Error("a name that is not known is told from one that is")
	}
	for to, lands := range map[string]string{"/gauges?all=1": "/gauges?all=1", "": "/", "https://elsewhere.example/": "/", "//elsewhere.example": "/", `/\elsewhere.example`: "/"} {
		if got := s.Post("/sign-on", url.Values{"name": {"Mara Quill"}, "password": {webtest.Password}, "to": {to}}, 303); got != lands {
			t.Errorf("wanted %q: landed at %q, want %q", to, got, lands)
		}
	}
	webtest.Wants(t, s.Get("/sign-on", 200), `<a href="/sign-on/own">Mara Quill</a></p>`, "Mara Quill is signed on in this browser.")
	s.Post("/sign-off", nil, 303)
	if len(b.off) != 1 || b.off[0] != "Mara Quill" {
		t.Errorf("the bench was told of %q", b.off)
	}
	webtest.Wants(t, s.Get("/sign-on", 200), "Nobody is signed on")
}

// A badge, or name and PIN, sign on in the strength of the bench.
func TestSignOnForTheBench(t *testing.T) {
	s, _ := signedOn(t)
	if err := s.Rec.SetBadge(s.Sealed(webtest.Administrator), webtest.Administrator, "Mara Quill", "MQ-01"); err != nil {
		t.Fatal(err)
	}
	webtest.Wants(t, s.Post("/sign-on/bench", nil, 422), "Scan the badge, or give name and PIN.")
	webtest.Wants(t, s.Post("/sign-on/bench", url.Values{"badge": {"XX-99"}}, 401), "is nobody&#39;s")
	webtest.Wants(t, s.Post("/sign-on/bench", url.Values{"name": {"Mara Quill"}, "pin": {"290418"}}, 401), "Name and PIN do not belong together")
	for _, by := range []url.Values{{"badge": {"mq-01"}}, {"name": {"Mara Quill"}, "pin": {webtest.PIN}}} {
		s.As("", "")
		s.Post("/sign-on/bench", by, 303)
		webtest.Wants(t, s.Get("/sign-on/own", 200), "Mara Quill</a>, for the bench", "with badge or PIN, for the bench", "this browser")
	}
}

// The first administrator comes by the code of the machine, with a name of their own; what is expected of the password is said beforehand, and
// what is wrong with it under its field. From then on people sign on.
func TestTheFirstCodeMakesAnAdministrator(t *testing.T) {
	s, b := webtest.Open(t), &bench{}
	s.SignOn = webtest.NewSignOn(s)
	mounted(s, b)
	webtest.Wants(t, s.Get("/sign-on", 200), "No sign-on, this machine only", "Nobody signs on here")
	code, _, err := s.SignOn.IssueCode(t.Context(), batch.AtTheMachine, "")
	if err != nil {
		t.Fatal(err)
	}
	webtest.Wants(t, s.Post("/sign-on/code", url.Values{"code": {"AAAAA-BBBBB-CCCCC-DDDDD"}}, 401), "This one-time code is not known here", `value="AAAAA-BBBBB-CCCCC-DDDDD"`)
	page := s.Post("/sign-on/code", url.Values{"code": {strings.ToLower(code)}}, 200)
	webtest.Wants(t, page, "Your name", "12 to 128 characters of any kind", "6 digits that neither repeat nor count")
	chosen := url.Values{"code": {code}, "choosing": {"yes"}, "name": {"Ines Vael"}, "password": {"short"}, "again": {"short"}, "pin": {"123456"}}
	page = s.Post("/sign-on/code", chosen, 422)
	webtest.Wants(t, page, `id="password-error">The password has 5 characters`, `id="pin-error">The PIN 123456 is guessed first`, `value="Ines Vael"`)
	chosen.Set("password", webtest.Password)
	chosen.Set("pin", webtest.PIN)
	webtest.Wants(t, s.Post("/sign-on/code", chosen, 422), `id="again-error">This differs from the password above`)
	chosen.Set("again", webtest.Password)
	s.Post("/sign-on/code", chosen, 303)
	webtest.Wants(t, s.Get("/sign-on/own", 200), "Ines Vael, quality manager, administers people.", "with the password")
	if len(b.reloaded) != 1 {
		t.Errorf("the bench was told %d times", len(b.reloaded))
	}
	webtest.Wants(t, s.Post("/sign-on/code", chosen, 401), "This one-time code was used already")
}

// Somebody changes their own password and PIN against the old password; a new password ends their other sessions, and so they do by hand.
func TestOnesOwnSignOn(t *testing.T) {
	s, _ := signedOn(t)
	if to := s.Do(webtest.Request("GET", "/sign-on/own", nil)).Header().Get("Location"); to != "/sign-on?to=%2Fsign-on%2Fown" {
		t.Errorf("nobody is led to %q", to)
	}
	s.As("Mara Quill", batch.AtBench)
	s.As("Mara Quill", batch.ByPassword)
	webtest.Wants(t, s.Get("/sign-on/own", 200), "End the 1 other one", "another one")
	s.Post("/sign-on/own/sessions", nil, 303)
	if page := s.Get("/sign-on/own", 200); strings.Contains(page, "another one") {
		t.Error("the other session goes on")
	}
	const next = "seven slow trains cross a quiet marsh"
	webtest.Wants(t, s.Post("/sign-on/own/password", url.Values{"old": {"not the old one"}, "new": {next}, "again": {next}}, 401), `id="password-old-error">Name and password do not belong together`)
	webtest.Wants(t, s.Post("/sign-on/own/password", url.Values{"old": {webtest.Password}, "new": {"Mara Quill"}, "again": {"Mara Quill"}}, 422), `id="password-new-error">The password has 10 characters`)
	s.Post("/sign-on/own/password", url.Values{"old": {webtest.Password}, "new": {next}, "again": {next}}, 303)
	webtest.Wants(t, s.Get("/sign-on/own", 200), "Mara Quill, inspector.")
	webtest.Wants(t, s.Post("/sign-on/own/pin", url.Values{"old": {next}, "pin": {"111111"}}, 422), `id="pin-pin-error">The PIN 111111 is guessed first`)
	s.Post("/sign-on/own/pin", url.Values{"old": {next}, "pin": {"731946"}}, 303)
	s.As("", "")
	webtest.Wants(t, s.Post("/sign-on/bench", url.Values{"name": {"Mara Quill"}, "pin": {webtest.PIN}}, 401), "do not belong together")
	s.Post("/sign-on/bench", url.Values{"name": {"Mara Quill"}, "pin": {"731946"}}, 303)
	s.Post("/sign-on", url.Values{"name": {"Mara Quill"}, "password": {next}}, 303)
}
