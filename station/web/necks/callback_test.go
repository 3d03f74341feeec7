package necks

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// TestCallBackListHasPages: the list has pages, each neck on one of them; the whole list, which is printed, and the file have all.
func TestCallBackListHasPages(t *testing.T) {
	s := shop(t).Fill()
	for i := range 27 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.28, 0)
	}
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	rows := func(page string) (serials []string) {
		_, table, _ := strings.Cut(page, `<table class="doubts"`)
		table, _, _ = strings.Cut(table, "</table>")
		for _, row := range strings.Split(table, "<tr")[2:] {
			serial, _, _ := strings.Cut(row[strings.Index(row, "QM-2611-"):], `"`)
			serials = append(serials, serial)
		}
		return serials
	}
	first, last := s.Get("/callback?batch=QM-2611", http.StatusOK), s.Get("/callback?batch=QM-2611&page=2", http.StatusOK)
	webtest.Wants(t, first, "Page 1 of 2.", `<a href="/callback?batch=QM-2611&amp;whole=1">All of it on one page</a>`, `<a href="/callback?batch=QM-2611&amp;page=2">Later</a>`)
	webtest.Wants(t, last, "Page 2 of 2.", `<a href="/callback?batch=QM-2611&amp;page=1">Earlier</a>`)
	whole := s.Get("/callback?batch=QM-2611&whole=1", http.StatusOK)
	if all := rows(whole); len(rows(first)) != mostCalled || len(all) != 31 || !slices.Equal(slices.Concat(rows(first), rows(last)), all) {
		t.Errorf("page 1 has %q, page 2 %q; the whole list %q", rows(first), rows(last), all)
	}
	if strings.Contains(whole, "Page 1 of") {
		t.Error("the whole list says that it is a part")
	}
	for _, page := range []string{first, last, whole} {
		webtest.Wants(t, page, "30 necks are in doubt")
	}
	if file := s.Get("/callback.csv?batch=QM-2611&page=2", http.StatusOK); strings.Count(file, "\n") != 31+1 {
		t.Errorf("the file has %d lines, want 31 and a head", strings.Count(file, "\n"))
	}
	for _, page := range []string{"0", "-1", "99", "x"} {
		webtest.Wants(t, s.Get("/callback?batch=QM-2611&page="+page, http.StatusOK), "of 2.")
	}
}
