package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"sagitta/station/web/webtest"
)

// TestTrendLeadsToTheNecks follows a batch behind a number of the trend to its page, which lists as many necks.
func TestTrendLeadsToTheNecks(t *testing.T) {
	s := openShop(t).fill().past()
	behind := s.Get("/trend/batches?by=reason&value=relief&from=2025-08&to=2025-10", http.StatusOK)
	rows := webtest.RowsOf(t, strings.Replace(behind, "<h1>", "<h2>x</h2><h1>", 1), "x")
	i := slices.IndexFunc(rows, func(r []string) bool { return r[0] == "QM-2509" })
	if i < 0 || rows[i][3] == "0" {
		t.Fatalf("no necks of QM-2509 in %v", rows)
	}
	webtest.Wants(t, behind, `href="/batches/QM-2509?reason=relief#necks"`)
	webtest.Wants(t, s.Get("/batches/QM-2509?reason=relief", http.StatusOK), "of "+rows[i][3]+" failing first by relief")
}
