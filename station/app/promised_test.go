package app

import (
	"slices"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/web/site"
)

// TestPromisedIsSaid: what was promised and is due today, or was due before, is said of the station, the one due first before; what is due tomorrow,
// or has ended, is not.
func TestPromisedIsSaid(t *testing.T) {
	a, err := Open(t.Context(), Options{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	now := time.Date(2026, 12, 1, 9, 0, 0, 0, time.Local)
	ok(a.Record.EnterInstrument(t.Context(), "Mara Quill", batch.Instrument{Serial: "OAK-31"}))
	for what, due := range map[string]batch.Day{"check relief after winter": "2026-12-01", "order a nut": "2026-11-29", "send the sheet": "2026-12-02", "dress fret 7": "2026-11-30"} {
		ok(a.Record.Promise(t.Context(), "Mara Quill", batch.Promise{Serial: "OAK-31", Due: due, What: what}))
	}
	promises, err := a.Record.Promises(t.Context(), "OAK-31")
	ok(err)
	for _, p := range promises {
		if p.What == "dress fret 7" {
			ok(a.Record.EndPromise(t.Context(), "Mara Quill", p.ID, batch.PromiseDropped+": sold"))
		}
	}
	said := func(now time.Time) (all []string) {
		for _, c := range a.concerns(t.Context(), now) {
			if c.Page == "/instruments/OAK-31#promises" {
				all = append(all, site.ConcernWords(c))
			}
		}
		return all
	}
	want := []string{"Promised for OAK-31: order a nut, was due 29 November, 2 days ago", "Promised for OAK-31: check relief after winter, due today"}
	if got := said(now); !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	if got := said(now.AddDate(0, 0, -7)); len(got) != 0 {
		t.Errorf("a week before: %q", got)
	}
}
