package shift

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// opened is a shop with three inspected necks (the second passed, the third has a high fret) and the pages over its bench.
func opened(t *testing.T, now func() time.Time, change func(*bench.Snapshot)) *webtest.Shop {
	s := webtest.Open(t).Fill()
	snap := s.Snapshot()
	change(snap)
	s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Bench: still{snap}, Now: now}) })
	return s
}

type still struct{ snap *bench.Snapshot }

func (b still) Snapshot() *bench.Snapshot { return b.snap }

// TestWallSaysWhatWasDone compares the wall's figures with the verdicts on record, of the last hours and of a span before them.
func TestWallSaysWhatWasDone(t *testing.T) {
	now := time.Now()
	s := opened(t, time.Now, func(*bench.Snapshot) {})
	work := webtest.Must[batch.Work](t)(s.Rec.Work(context.Background(), now.Add(-time.Hour), now.Add(time.Hour)))
	if work.First != 3 || work.FirstPass != 1 || work.Dispositions["rework"] != 2 || len(work.By) != 1 || work.By[0].Inspected != 3 || work.Reasons[0].Necks+work.Reasons[1].Necks != 2 {
		t.Fatalf("%+v", work)
	}
	webtest.Wants(t, s.Get("/wall", 200), "4 inspections judged; 1 of 3 necks passed at the first inspection. 2 pass, 2 rework.", "33 % passed at the first inspection", "All gauges well", "No neck is called back, held or parked.")
	before := webtest.Must[batch.Work](t)(s.Rec.Work(context.Background(), now.Add(-2*time.Hour), now.Add(-time.Hour)))
	if before.Judged != 0 {
		t.Errorf("an hour before anything was judged: %+v", before)
	}
}

// TestWorkOfASpan moves the clock on: what was judged yesterday is in no hour of today.
func TestWorkOfASpan(t *testing.T) {
	later := time.Now().Add(20 * time.Hour)
	s := opened(t, func() time.Time { return later }, func(*bench.Snapshot) {})
	page := s.Get("/wall/now", 200)
	if strings.Contains(page, "4 inspections") || strings.Count(page, "No neck was judged.") != 2 {
		t.Errorf("the wall says %s", page)
	}
	from := time.Now().Add(-time.Hour).Local().Format("15:04")
	webtest.Wants(t, s.Get("/wall/now?from="+url.QueryEscape(from), 200), "Since "+from, "4 inspections judged")
	webtest.Wants(t, s.Get("/wall?from=late", http.StatusUnprocessableEntity), "is not a time of the day: write it like 06:00")
}

// TestTroubleIsOnTheWall shows a gauge that is not well, and what waits.
func TestTroubleIsOnTheWall(t *testing.T) {
	s := opened(t, time.Now, func(n *bench.Snapshot) {
		n.Gauges[0].State, n.Gauges[0].Words, n.Gauges[0].Locked, n.Gauges[0].ToDo = "unplugged", "carriage indicator unplugged", true, "Plug it in again."
		n.Waiting.Parked = []bench.ParkedNeck{{Serial: "QM-2611-0007", BatchNumber: "QM-2611", Attempt: 1, Since: time.Now().Add(-time.Minute), Reason: "settling", Taken: 4, Of: 57}}
	})
	for _, path := range []string{"/wall", "/handover"} {
		page := s.Get(path, 200)
		webtest.Wants(t, page, "carriage indicator unplugged", "Parked: 1 neck")
		if strings.Contains(page, "All gauges well") || strings.Contains(page, "No neck is called back") {
			t.Errorf("%s says that all is well", path)
		}
	}
	webtest.Wants(t, s.Get("/handover", 200), "QM-2611-0007", "Plug it in again.")
}

// TestHandover leaves a note; one without a text or a name is refused and what was typed is kept.
func TestHandover(t *testing.T) {
	s := opened(t, time.Now, func(*bench.Snapshot) {})
	page := s.Get("/handover", 200)
	webtest.Wants(t, page, "1 of 3 necks passed at the first inspection", "<th scope=\"row\">Mara Quill</th>", "relief: 1 neck", "No note was left yet.", "No alarm is open.")
	webtest.Wants(t, s.Post("/handover", url.Values{"by": {"Mara Quill"}, "text": {" "}}, http.StatusUnprocessableEntity), "Give note for the next shift")
	webtest.Wants(t, s.Post("/handover", url.Values{"by": {"Nobody"}, "text": {"the flat is dusty"}}, http.StatusUnprocessableEntity), `value="the flat is dusty"`)
	s.Post("/handover", url.Values{"by": {"Mara Quill"}, "text": {"The flat <reference> is dusty"}}, http.StatusSeeOther)
	webtest.Wants(t, s.Get("/handover", 200), "<strong>Mara Quill</strong>", "The flat &lt;reference&gt; is dusty")
	if err := s.Rec.VerifyAudit(context.Background()); err != nil {
		t.Error(err)
	}
}

// TestNoGauge does not call well what is not there.
func TestNoGauge(t *testing.T) {
	s := opened(t, time.Now, func(n *bench.Snapshot) { n.Gauges = nil })
	for _, path := range []string{"/wall", "/handover"} {
		if page := s.Get(path, 200); strings.Contains(page, "All gauges well") || !strings.Contains(page, "No gauge is on file.") {
			t.Errorf("%s says that all is well where there is no gauge", path)
		}
	}
}

// TestWhatWaitsIsOfAllBatches holds a neck in doubt against the pages while no batch, or another, lies on the bench.
func TestWhatWaitsIsOfAllBatches(t *testing.T) {
	s := opened(t, time.Now, func(n *bench.Snapshot) { n.Batch = nil })
	webtest.Must[batch.GaugeCheck](t)(s.Rec.AppendGaugeCheck(context.Background(), batch.GaugeCheck{GaugeID: s.Gauge.ID, By: "Mara Quill", Why: "+0.030 mm on the 1 mm master", After: batch.CheckDue}))
	for _, path := range []string{"/wall", "/handover"} {
		page := s.Get(path, 200)
		webtest.Wants(t, page, "Called back: 3 necks are in doubt")
		if strings.Contains(page, "No neck is called back") {
			t.Errorf("%s says that no neck waits", path)
		}
	}
}
