package web

import (
	"net/http"
	"os"
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// pagesOf are the addresses of every page, without those that never end or that nothing is asked of.
func pagesOf(t testing.TB) (all []string) {
	t.Helper()
	text, err := os.ReadFile("testdata/routes.txt")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(text)) {
		path, page := strings.CutPrefix(strings.TrimSpace(line), "GET ")
		if page && !strings.HasSuffix(path, "events") && !strings.HasPrefix(path, "/assets/") {
			all = append(all, path)
		}
	}
	return all
}

// FuzzPageQueries: whatever a page is asked, in its address and behind it, it answers, and no mistake is the machine's.
func FuzzPageQueries(f *testing.F) {
	s := openShop(f).fill().past()
	pages := pagesOf(f)
	for i := range pages {
		f.Add(i, "QM-2611-0001", "from=2026-01&to=2026-11&by=inspector&a=Mara&b=Wren&what=months&of=relief&page=2&without=doubt")
		f.Add(i, "%00", "page=-1&test=9&q=%27%22%25&attempt=1e9&value=%ff&gauge=&batch=x")
	}
	f.Fuzz(func(t *testing.T, which int, name, query string) {
		path := pages[((which%len(pages))+len(pages))%len(pages)]
		parts := strings.Split(path, "/")
		for i, part := range parts {
			switch {
			case part == ":number" && len(name)%2 == 0:
				parts[i] = s.Batch.Number
			case strings.HasPrefix(part, ":"):
				parts[i] = name
			}
		}
		r := webtest.Request(http.MethodGet, "/", nil)
		r.URL.Path, r.URL.RawQuery = strings.Join(parts, "/"), query
		if w := s.Do(r); w.Code >= 500 || w.Code < 200 {
			t.Errorf("%s?%s: %d\n%.600s", r.URL.Path, query, w.Code, w.Body)
		}
	})
}
