// Package webtest is what the tests of pages share: an invented shop's record, requests to its pages, what pages say, and a
// browser. It knows no group of pages: a test mounts the one that it is about.
package webtest

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/station/bench"
	"sagitta/station/signon"
	"sagitta/station/web/site"
)

// Shop is an invented shop's record behind the pages.
type Shop struct {
	testing.TB
	Rec      *record.DB
	Handler  http.Handler // of the pages; Mount makes it of some of them
	Spec     batch.SpecRevision
	Batch    batch.Batch
	Gauge    batch.Gauge
	Lines    []bench.GaugeLine // how the gauges are; nil: the one gauge is live
	Alarms   int               // how many are open
	Concerns []bench.Concern   // about the record and its copies

	SignOn  *signon.Service        // nil: nobody ever signs on
	Rights  map[string]batch.Right // what each route takes where people sign on
	Cookies map[string]*http.Cookie
}

// Open opens an empty record. It has no pages until they are mounted.
func Open(t testing.TB) *Shop {
	rec, _ := recordtest.Record(t, nil)
	return &Shop{TB: t, Rec: rec}
}

// Mount serves the pages of the groups given, without a bench but for its snapshot.
func (s *Shop) Mount(groups ...func(k *site.Site) error) *Shop {
	s.Helper()
	k, err := site.New(site.Options{Snapshot: s.Snapshot, People: s.Rec.People, SignOn: s.SignOn, House: s.Rec.House, Rights: s.Rights, Now: time.Now})
	if err != nil {
		s.Fatal(err)
	}
	for _, mount := range groups {
		if err := mount(k); err != nil {
			s.Fatal(err)
		}
	}
	s.Handler = k.Handler()
	return s
}

// Snapshot is a bench with nothing on it but the gauges' lines.
func (s *Shop) Snapshot() *bench.Snapshot {
	lines := s.Lines
	if lines == nil {
		lines = []bench.GaugeLine{{ID: s.Gauge.ID, Name: s.Gauge.Name, State: "live", Since: time.Now().Add(-time.Hour), Words: s.Gauge.Name + " live, zeroed 07:12"}}
	}
	return &bench.Snapshot{Stage: bench.Idle, Next: -1, AllAlarms: s.Alarms, Inspector: "Mara Quill", Batch: &s.Batch, Gauges: lines, Concerns: s.Concerns}
}

// Must is what a call returned; an error ends the test.
func Must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// Request is a request as it comes to this machine's own address.
func Request(method, target string, body io.Reader) *http.Request {
	r := httptest.NewRequest(method, target, body)
	r.Host, r.RemoteAddr = "127.0.0.1:8470", "127.0.0.1:40000"
	return r
}

// Get fetches a page and wants the status given.
func (s *Shop) Get(path string, status int) string {
	s.Helper()
	w := s.Do(Request(http.MethodGet, path, nil))
	if w.Code != status {
		s.Fatalf("GET %s: status %d, want %d\n%.2000s", path, w.Code, status, w.Body)
	}
	return w.Body.String()
}

// Post sends a form and wants the status given; it returns the page, or where to go.
func (s *Shop) Post(path string, form url.Values, status int) string {
	s.Helper()
	req := Request(http.MethodPost, path, strings.NewReader(form.Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := s.Do(req)
	if w.Code != status {
		s.Fatalf("POST %s %v: status %d, want %d\n%.3000s", path, form, w.Code, status, w.Body)
	}
	if status == http.StatusSeeOther {
		return w.Header().Get("Location")
	}
	return w.Body.String()
}

// Do sends a request.
func (s *Shop) Do(req *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	for _, c := range s.Cookies {
		req.AddCookie(c)
	}
	s.Handler.ServeHTTP(w, req)
	if s.SignOn != nil {
		s.keep(w)
	}
	return w
}
