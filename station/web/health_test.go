package web

import (
	"net/http"
	"strings"
	"testing"
	"time"

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
		{ID: "c", Name: "beam on two feet", State: "low battery", Since: since, Words: "beam on two feet low battery", ToDo: "Change the battery."},
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
