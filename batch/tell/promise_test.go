package tell_test

import (
	"testing"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
)

// TestPromised plants promises in a record that are due tomorrow, today, before and later, and one that ended, and reads each in words.
func TestPromised(t *testing.T) {
	rec, _ := recordtest.Record(t, nil)
	const by, serial, today = recordtest.Manager, "OAK-31", batch.Day("2026-12-01")
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	ok(rec.EnterInstrument(t.Context(), by, batch.Instrument{Serial: serial}))
	for _, p := range []batch.Promise{
		{Due: "2026-12-02", What: "check relief\nafter winter."}, {Due: today, What: "glue the seam"}, {Due: "2026-11-30", What: "order a nut"}, {Due: "2025-12-31", What: "send the sheet"},
		{Due: "2026-12-03", What: "look at the bridge"}, {Due: "2027-03-09", What: "measure it in spring"}, {Due: "2026-11-01", What: "dress fret 7"},
	} {
		p.Serial = serial
		ok(rec.Promise(t.Context(), by, p))
	}
	for _, p := range recordtest.Must(rec.PromisesDue(t.Context(), "2026-11-01"))(t) {
		if p.What == "dress fret 7" {
			ok(rec.EndPromise(t.Context(), by, p.ID, batch.PromiseKept+": with a new file"))
		}
	}
	want := map[string]string{
		"check relief\nafter winter.": "Promised for OAK-31: check relief after winter, due tomorrow.",
		"glue the seam":               "Promised for OAK-31: glue the seam, due today.",
		"order a nut":                 "Promised for OAK-31: order a nut, was due 30 November, 1 day ago.",
		"send the sheet":              "Promised for OAK-31: send the sheet, was due 31 December 2025, 335 days ago.",
		"look at the bridge":          "Promised for OAK-31: look at the bridge, due 3 December.",
		"measure it in spring":        "Promised for OAK-31: measure it in spring, due 9 March 2027.",
		"dress fret 7":                "Promised for OAK-31: dress fret 7; kept: with a new file.",
	}
	all := recordtest.Must(rec.Promises(t.Context(), serial))(t)
	if len(all) != len(want) {
		t.Errorf("%d promises", len(all))
	}
	for _, p := range all {
		if got := tell.Promised(p, today); got != want[p.What] {
			t.Errorf("%q, want %q", got, want[p.What])
		}
	}
}
