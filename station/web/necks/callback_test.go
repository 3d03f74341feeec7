package necks

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// TestCallBackListHasPages: on the screen the list has pages, each neck on one of them; paper and the file have all.
func TestCallBackListHasPages(t *testing.T) {
	s := shop(t).Fill()
	for i := range 27 {
		s.Inspect(fmt.Sprintf("QM-2611-%04d", i+4), 0.28, 0)
	}
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	seen := map[string]int{}
	rows := func(page string) (here, all int) {
		_, table, _ := strings.Cut(page, `<table class="doubts"`)
		table, _, _ = strings.Cut(table, "</table>")
		for _, row := range strings.Split(table, "<tr")[2:] {
			all++
			if open, _, _ := strings.Cut(row, ">"); strings.Contains(open, "print-only") {
				continue
			}
			here++
			serial, _, _ := strings.Cut(row[strings.Index(row, "QM-2611-"):], `"`)
			seen[serial]++
		}
		return here, all
	}
	first, last := s.Get("/callback?batch=QM-2611", http.StatusOK), s.Get("/callback?batch=QM-2611&page=2", http.StatusOK)
	webtest.Wants(t, first, "Page 1 of 2; a print has all of it.", `<a href="/callback?batch=QM-2611&amp;page=2">Later</a>`)
	webtest.Wants(t, last, "Page 2 of 2", `<a href="/callback?batch=QM-2611&amp;page=1">Earlier</a>`)
	here, all := rows(first)
	rest, again := rows(last)
	if here != mostCalled || all != here+rest || again != all {
		t.Errorf("page 1 shows %d of %d lines, page 2 %d of %d", here, all, rest, again)
	}
	for serial, n := range seen {
		if n != 1 && serial != "QM-2611-0001" { // which has two attempts
			t.Errorf("%s stands on %d lines of the pages", serial, n)
		}
	}
	if file := s.Get("/callback.csv?batch=QM-2611&page=2", http.StatusOK); strings.Count(file, "\n") != all+1 {
		t.Errorf("the file has %d lines, want %d and a head", strings.Count(file, "\n"), all)
	}
	for _, page := range []string{"0", "-1", "99", "x"} {
		webtest.Wants(t, s.Get("/callback?batch=QM-2611&page="+page, http.StatusOK), "of 2; a print")
	}
}
