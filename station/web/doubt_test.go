package web

import (
	"encoding/csv"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// A failed check shows on the gauge's, the batch's and the neck's page, in the lists and in the call-back list; a person
// clears a neck with a reason.
func TestDoubtIsShownAndCleared(t *testing.T) {
	s := openShop(t).fill()
	webtest.Wants(t, s.Get("/batches/QM-2611", 200), "2 of 30 may ship")
	webtest.Must[batch.GaugeCheck](s)(s.Rec.AppendGaugeCheck(t.Context(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	// All three necks were measured with the gauge: the first at two attempts, of which the later counts.
	webtest.Wants(t, s.Get("/batches/QM-2611", 200), "None of 30 may ship; 2 are in doubt", "3 necks are in doubt and may not ship", `href="/batches/QM-2611/doubt"`)
	page := s.Get("/batches/QM-2611/doubt", 200)
	webtest.Wants(t, page, "None of 30 may ship; 2 are in doubt", "3 necks are in doubt and may not ship", "QM-2611-0003", "relief, bass side", "Call-back list to print", "crown heights: ")
	webtest.Wants(t, s.Get("/batches/QM-2611/necks?doubt=1", 200), "QM-2611-0001", "QM-2611-0003", "in doubt")
	webtest.Wants(t, s.Get("/batches", 200), "0 of 30 necks in it may ship")
	webtest.Wants(t, s.Get("/gauges/"+s.Gauge.ID, 200), "3 necks are in doubt", "Put in doubt", `href="#doubt">4<`)
	webtest.Wants(t, s.Get("/necks?q=QM-2611-000", 200), "in doubt")
	webtest.Wants(t, s.Get("/necks/QM-2611-0002", 200), "<strong>in doubt</strong>", "It may not ship", "Clear this neck of doubt", "passed on")
	for _, path := range []string{"/callback?gauge=" + s.Gauge.ID, "/callback?batch=QM-2611", "/callback"} {
		webtest.Wants(t, s.Get(path, 200), "3 necks are in doubt", "QM-2611-0001", "Called back by, date:")
	}
	s.Get("/callback?gauge=none", 404)
	s.Get("/callback?batch=none", 404)

	webtest.Wants(t, s.Post("/necks/QM-2611-0002/clear-doubt", url.Values{"by": {"Tove Aske"}}, 422), "Give reason")
	for by, want := range map[string]string{"": "Nothing is chosen", "Mara Quill": "is not offered"} {
		webtest.Wants(t, s.Post("/necks/QM-2611-0002/clear-doubt", url.Values{"by": {by}, "reason": {"x"}}, 422), want)
	}
	s.Post("/necks/QM-2611-0002/clear-doubt", url.Values{"by": {"Tove Aske"}, "reason": {"=measured with the beam"}}, 303)
	page = s.Get("/necks/QM-2611-0002", 200)
	webtest.Wants(t, page, "cleared by Tove Aske", "=measured with the beam", "Nothing is in doubt any more")
	if strings.Contains(page, "It may not ship") {
		t.Error("a cleared neck may not ship")
	}
	webtest.Wants(t, s.Get("/batches/QM-2611", 200), "1 of 30 may ship; 1 is in doubt")
	rows, err := csv.NewReader(strings.NewReader(s.Get("/callback.csv?batch=QM-2611", 200))).ReadAll()
	if err != nil || len(rows) != 5 || rows[0][0] != "serial" || rows[4][0] != "QM-2611-0002" && rows[3][0] != "QM-2611-0002" {
		t.Fatalf("rows %v, %v", rows, err)
	}
	for _, row := range rows[1:] {
		if row[7] != "carriage indicator" || row[9] == "" || row[12] == "" {
			t.Errorf("row %v", row)
		}
	}
}
