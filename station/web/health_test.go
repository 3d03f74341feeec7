package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/webtest"
)

// Every page says which gauges are not well, since when and what to do; while all are well it says one quiet word.
func TestHealthStandsOnEveryPage(t *testing.T) {
	s := openShop(t).fill()
	paths := []string{"/batches", "/batches/QM-2611", "/necks", "/necks/QM-2611-0001", "/specs", "/gauges", "/gauges/" + s.Gauge.ID, "/people", "/callback"}
	for _, path := range paths {
		page := s.Get(path, 200)
		webtest.Wants(t, page, `id="health"`, "gauge well", "health.js")
		if strings.Contains(page, "class=\"do\"") {
			t.Errorf("%s asks for something while all is well", path)
		}
	}
	since := time.Date(2026, 3, 2, 14, 5, 0, 0, time.Local)
	s.Lines = []bench.GaugeLine{
		{ID: "a", Name: "height gauge", State: "unplugged", Since: since, Words: "height gauge locked out: it was unplugged at 14:05 and has not been checked since", ToDo: "Plug the gauge in again.", Locked: true},
		{ID: "b", Name: "carriage indicator", State: "locked out", LockedSince: since, LockedWhy: "a shift began at 14:00", Words: "carriage indicator locked out: a shift began at 14:00", ToDo: "Check it.", Locked: true},
		{ID: "c", Name: "two-foot beam", State: "low battery", Since: since, Words: "two-foot beam low battery", ToDo: "Change the battery."},
		{ID: "d", Name: "pitch", State: "live", Words: "pitch live"},
	}
	for _, path := range append(paths, "/health") {
		page := s.Get(path, 200)
		webtest.Wants(t, page, "height gauge</a> <strong>unplugged</strong> since 2026-03-02 14:05.", "Plug the gauge in again.",
			"<strong>locked out</strong> since 2026-03-02 14:05: a shift began at 14:00.", "<strong>low battery</strong>", "Change the battery.")
		if strings.Contains(page, ">pitch</a>") {
			t.Errorf("%s lists a gauge that is well", path)
		}
	}
}

// A gauge that only finds places needs no check, and its row says so; a gauge's words that end in "since" get no second
// one; one gauge that is not ready is no "0 of 1".
func TestGaugesSayWhatTheyNeed(t *testing.T) {
	s := openShop(t).fill()
	since := time.Now().Add(-time.Hour)
	place := webtest.Must[batch.Gauge](s)(s.Rec.SaveGauge(t.Context(), "Tove Aske", batch.Gauge{Name: "carriage position", Measures: []batch.Kind{batch.Position}, Decoder: "signed decimal with unit", Capture: "stream", Sense: 1, ResolutionMM: 0.1, CheckHours: 12}))
	s.Lines = []bench.GaugeLine{{ID: s.Gauge.ID, Name: s.Gauge.Name, State: "live", Since: since, Words: "x live"}, {ID: place.ID, Name: place.Name, State: "live", Since: since, Words: "y live"}}
	page := s.Get("/gauges", 200)
	webtest.Wants(t, page, "All 2 gauges are well and checked, where a check is needed.", ">needs none<", ">never<")
	if err := s.Rec.RetireGauge(t.Context(), "Tove Aske", place.ID); err != nil {
		t.Fatal(err)
	}
	s.Lines = []bench.GaugeLine{{ID: s.Gauge.ID, Name: s.Gauge.Name, State: "locked out", Since: since, LockedSince: since, Locked: true, LockedWhy: "it was unplugged at 14:05 and has not been checked since", Words: "carriage indicator locked out: it was unplugged at 14:05 and has not been checked since"}}
	page = s.Get("/gauges", 200)
	webtest.Wants(t, page, "The gauge is not ready: what it needs is said with it.")
	if strings.Contains(page, `since <span class="quiet">since`) {
		t.Error("the page says since twice")
	}
}

// The number of open alarms stands beside its page everywhere, in words; none says nothing.
func TestOpenAlarmsAreCountedOnEveryPage(t *testing.T) {
	s := openShop(t).fill()
	webtest.Wants(t, s.Get("/necks", http.StatusOK), `<a href="/alarms">Alarms <span id="alarm-count"></span></a>`)
	s.Alarms = 3
	webtest.Wants(t, s.Get("/necks", http.StatusOK), `<a href="/alarms">Alarms <span id="alarm-count">3 open</span></a>`)
	if w := s.Do(webtest.Request(http.MethodGet, "/health", nil)); w.Header().Get("X-Alarms") != "3 open" {
		t.Errorf("the pages' module hears %q", w.Header().Get("X-Alarms"))
	}
}
