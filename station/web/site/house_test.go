package site_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// TestHouseThatCannotBe: where a damaged file says that the record is kept for nobody, pages are a factory's, and no page breaks.
func TestHouseThatCannotBe(t *testing.T) {
	k, err := site.New(site.Options{Snapshot: func() *bench.Snapshot { return &bench.Snapshot{} }, Now: time.Now,
		People: func(context.Context) ([]batch.Person, error) { return nil, nil },
		House:  func(context.Context) (batch.House, error) { return "\x00\x17a page of something else", nil }})
	if err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	k.Handler().ServeHTTP(w, webtest.Request(http.MethodGet, "/none", nil))
	if w.Code != http.StatusNotFound {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
	webtest.Wants(t, w.Body.String(), "There is no page at /none", `href="/batches"`)
}
