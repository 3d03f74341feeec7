package webtest

import (
	"context"
	"net/http"
	"net/http/httptest"
	"time"

	"sagitta/batch"
	"sagitta/station/signon"
)

// The first administrator of a shop in which people sign on, and what everybody there proves themselves by.
const (
	Administrator = "Ines Vael"
	Password      = "four herons mend a violet roof"
	PIN           = "290417"
)

// SignsOn has people sign on at the shop from now on: the administrator and everybody who is entered have Password and PIN. Nobody is signed on
// in the shop's browser yet: see As.
func (s *Shop) SignsOn() *Shop {
	s.Helper()
	ctx := s.Context()
	s.SignOn = NewSignOn(s)
	known := Must[[]batch.Person](s)(s.Rec.People(ctx))
	code, _, err := s.SignOn.IssueCode(ctx, batch.AtTheMachine, "")
	if err == nil {
		_, err = s.SignOn.UseCode(ctx, code, Administrator, Password, PIN)
	}
	if err != nil {
		s.Fatal(err)
	}
	for _, p := range known {
		s.Secrets(p.Name)
	}
	return s
}

// NewSignOn is the service of a shop's record, with hashes that cost little.
func NewSignOn(s *Shop) *signon.Service {
	return signon.New(signon.Options{Record: s.Rec, Sessions: s.Rec.Sessions(), Shop: "Quillmere",
		Cost: &signon.Cost{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}})
}

// Secrets gives somebody who is entered Password and PIN.
func (s *Shop) Secrets(name string) {
	s.Helper()
	code, _, err := s.SignOn.IssueCode(s.Context(), batch.AtTheMachine, name)
	if err == nil {
		_, err = s.SignOn.UseCode(s.Context(), code, "", Password, PIN)
	}
	if err != nil {
		s.Fatal(err)
	}
}

// Sealed is a context with somebody's seal.
func (s *Shop) Sealed(by string) context.Context {
	return batch.WithSeals(s.Context(), batch.Seal{By: by, Reason: "as agreed"})
}

// As signs somebody on in the shop's browser; "" signs off.
func (s *Shop) As(name string, strength batch.Strength) *Shop {
	s.Helper()
	s.Cookies = nil
	if name == "" {
		return s
	}
	for _, p := range Must[[]batch.Person](s)(s.Rec.People(s.Context())) {
		if p.Name != name {
			continue
		}
		w := httptest.NewRecorder()
		r, _, err := s.SignOn.Load(w, Request(http.MethodGet, "/", nil))
		if err == nil {
			err = s.SignOn.Begin(w, r, p, strength)
		}
		if err != nil {
			s.Fatal(err)
		}
		s.keep(w)
		return s
	}
	s.Fatalf("nobody of the name %q is entered", name)
	return s
}

// keep has the shop's browser keep the cookies of an answer.
func (s *Shop) keep(w *httptest.ResponseRecorder) {
	for _, c := range w.Result().Cookies() {
		if s.Cookies == nil {
			s.Cookies = map[string]*http.Cookie{}
		}
		if c.MaxAge < 0 || !c.Expires.IsZero() && c.Expires.Before(time.Now()) {
			delete(s.Cookies, c.Name)
			continue
		}
		s.Cookies[c.Name] = c
	}
}
