package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
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
	webtest.Wants(t, behind, `href="/batches/QM-2509/necks?reason=relief"`)
	webtest.Wants(t, s.Get("/batches/QM-2509/necks?reason=relief", http.StatusOK), "of "+rows[i][3]+" failing first by relief")
}

// TestAlarmsStandOnTheirBatch looks for an alarm on its batch's page, before and after it is acknowledged there.
func TestAlarmsStandOnTheirBatch(t *testing.T) {
	s := openShop(t).fill()
	webtest.Must[bool](s)(s.Rec.RaiseAlarm(t.Context(), batch.Alarm{Kind: batch.SignalAlarm, Subject: "signal/x", BatchID: s.Batch.ID, About: "relief/bass//7", Words: "Relief gives a signal at neck QM-2611-0002: test 2."}))
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "Relief gives a signal")
	open := webtest.Must[[]batch.Alarm](s)(s.Rec.OpenAlarms(t.Context()))
	s.Post("/alarms/"+open[0].ID+"/acknowledge", url.Values{"by": {"Tove Aske"}, "note": {"new press, settled"}, "back": {"/batches/QM-2611"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get("/batches/QM-2611", http.StatusOK), "Tove Aske", "new press, settled")
}

// TestStudiesStandOnTheirGauge looks for a study on its gauge's page.
func TestStudiesStandOnTheirGauge(t *testing.T) {
	s := openShop(t).fill()
	s.Post("/gauges/"+s.Gauge.ID+"/studies", url.Values{"kind": {"crossed"}, "about": {"steel blocks"}, "appraisers": {"Mara Quill", "Tove Aske"}, "trials": {"2"}, "parts": {"P1..P5"}, "by": {"Tove Aske"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get("/gauges/"+s.Gauge.ID, http.StatusOK), "Crossed study", "0 of 20 readings")
}
