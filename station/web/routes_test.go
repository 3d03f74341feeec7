package web

import (
	"os"
	"slices"
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// TestRoutes compares the pages and forms with those that bookmarks and other programs know: testdata/routes.txt.
func TestRoutes(t *testing.T) {
	want, err := os.ReadFile("testdata/routes.txt")
	if err != nil {
		t.Fatal(err)
	}
	s := openShop(t)
	k, err := compose(Options{Bench: shopBench{shop: s}, Record: s.Rec, Demo: noDemo{}, SignOn: webtest.NewSignOn(s.Shop)})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range k.Routes() {
		got = append(got, r.Method+" "+r.Path)
	}
	for _, route := range strings.Split(strings.TrimSpace(string(want)), "\n") {
		i := slices.Index(got, route)
		if i < 0 {
			t.Errorf("%s is gone", route)
			continue
		}
		got = slices.Delete(got, i, i+1)
	}
	if len(got) > 0 {
		t.Errorf("not listed: %q", got)
	}
}

// noDemo is a demo of which nothing is asked.
type noDemo struct{ Demo }

// Pages without a bench are refused as they are put together, not by the first request.
func TestPagesNeedABench(t *testing.T) {
	if _, err := New(Options{Record: webtest.Open(t).Rec}); err == nil {
		t.Error("pages without a bench are served")
	}
}
