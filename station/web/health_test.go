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

// A record that is lost stands before the gauges on every page, what is due for its copies behind them, and neither leads to a gauge.
func TestRecordAndCopiesStandOnEveryPage(t *testing.T) {
	s := openShop(t).fill()
	s.Lines = []bench.GaugeLine{{ID: "a", Name: "height gauge", State: "low battery", ToDo: "Change the battery."}}
	s.Concerns = []bench.Concern{
		{What: "disk", Words: "900 MB are left on the record's disk", ToDo: "Make room."},
		{What: "record", Words: "the record's file was taken from under the station", Lost: true},
		{What: "drill", Words: "no backup was proved for 60 days", ToDo: "Run sagitta restore --drill copies.", Since: time.Date(2026, 3, 2, 14, 5, 0, 0, time.Local)},
	}
	for _, path := range []string{"/batches", "/people", "/health"} {
		page := s.Get(path, 200)
		webtest.Wants(t, page, "Record: the record&#39;s file was taken from under the station", "Disk: 900 MB are left", "Make room.", "and 3 more",
			"Drill: no backup was proved for 60 days since 2026-03-02 14:05.", "Run sagitta restore --drill copies.")
		record, gauge, disk := strings.Index(page, "Record: the"), strings.Index(page, "height gauge</a>"), strings.Index(page, "Disk: 900")
		if record > gauge || gauge > disk || strings.Contains(page, `href="/gauges/"`) {
			t.Errorf("%s: the record stands at %d, the gauge at %d, the disk at %d: %s", path, record, gauge, disk, page)
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

// What was promised and is due stands on every page and leads to its instrument.
func TestPromiseStandsOnEveryPage(t *testing.T) {
	s := openShop(t).fill()
	s.Concerns = []bench.Concern{{What: "promised for OAK-31", Words: "check relief after winter, due today", ToDo: "Say on its page whether it is kept.", Page: "/instruments/OAK-31#promises"}}
	for _, path := range []string{"/batches", "/people", "/health"} {
		webtest.Wants(t, s.Get(path, 200), `<a href="/instruments/OAK-31#promises">Promised for OAK-31: check relief after winter, due today</a>`, "Say on its page whether it is kept.")
	}
}
