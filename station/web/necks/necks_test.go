package necks

import (
	"context"
	"html"
	"net/http"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// shop is an empty shop with these pages alone.
func shop(t testing.TB) *webtest.Shop {
	s := webtest.Open(t)
	return s.Mount(func(k *site.Site) error { return Mount(k, Options{Record: s.Rec, Now: time.Now}) })
}

func TestNeckPage(t *testing.T) {
	s := shop(t).Fill()
	page := s.Get("/necks/QM-2611-0001", 200)
	webtest.Wants(t, page, "Attempt 2", "Attempt 1", "tighten 1/4 turn", "0.335", "taken back or replaced", "the carriage stood on the fret", `0.012mm\r\n`, "Clearance", "pressed at each fret", "Mara Quill", "47&nbsp;% RH", "<svg")
	if strings.Index(page, "Attempt 2 ") > strings.Index(page, "Attempt 1 ") {
		t.Error("the newest attempt does not come first")
	}
	// Attempt 1's relief is built as 0.46 mm, attempt 2's as 0.29 mm: 0.045 mm under the predicted 0.335 mm.
	webtest.Wants(t, page, "0.460", "0.290", "−0.045")
}

func TestUnknownSerialIs404WithTheNearest(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/necks/QM-2611-0O07", 404), "No neck with the serial number", "QM-2611-0007")
	webtest.Wants(t, s.Get("/necks/%3Cscript%3E", 404), "&lt;script&gt;")
	webtest.Wants(t, s.Get("/necks/zzzzzzzzzzzzzzzzzzzzzz", 404), "Search by a part of it")
}

func TestNeckSearch(t *testing.T) {
	s := shop(t).Fill()
	webtest.Wants(t, s.Get("/necks?q=-001", 200), "10 necks", "QM-2611-0010", "QM-2611-0019")
	w := s.Do(webtest.Request(http.MethodGet, "/necks?q=0017", nil))
	if w.Code != 303 || w.Header().Get("Location") != "/necks/QM-2611-0017" {
		t.Errorf("one hit: status %d to %q", w.Code, w.Header().Get("Location"))
	}
	webtest.Wants(t, s.Get("/necks?q=QM-2612-0017", 200), "The nearest is QM-2611-0017")
}

func TestInchPages(t *testing.T) {
	s := shop(t).Fill()
	req := webtest.Request(http.MethodGet, site.NeckPath("QM-2611-0001"), nil)
	req.AddCookie(&http.Cookie{Name: "unit", Value: "in"})
	// 0.46 mm / 25.4 = 0.01811 in.
	webtest.Wants(t, s.Do(req).Body.String(), "0.0181")
}

// TestExplainPage follows a value's link to its formula, readings and budget.
func TestExplainPage(t *testing.T) {
	s := shop(t).Fill()
	page := s.Get("/necks/QM-2611-0001", http.StatusOK)
	_, after, found := strings.Cut(page, `/explain?`)
	if !found {
		t.Fatal("no value of the neck's page links to its explanation")
	}
	query, _, _ := strings.Cut(after, `"`)
	page = s.Get("/necks/QM-2611-0001/explain?"+html.UnescapeString(query), http.StatusOK)
	for _, want := range []string{"Height of the chord between the datum frets", "bass side, fret 7", "Expanded uncertainty", "100.0", "From the readings to the value", "hord over fret 7"} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q on the page", want)
		}
	}
	s.Inspect("QM-2611-0004", 0.203, 0) // inside the limits, but by less than the guard band
	webtest.Wants(t, s.Get("/necks/QM-2611-0004/explain?attempt=1&name=relief&track=bass&fret=7", http.StatusOK), "undecided, the limits are 0.200 and 0.360 mm")
	b := webtest.Must[batch.Batch](s)(s.Rec.OpenBatch(context.Background(), "Tove Aske", batch.Batch{Number: "QM-2501", Spec: s.Spec, Planned: 1}, nil))
	past := webtest.PastNeck("QM-2501-0001", time.Now().AddDate(-1, 0, 0), 0.28, 1.7, "Mara Quill")
	webtest.Must[batch.Import](s)(s.Rec.AppendStories(context.Background(), "Tove Aske", batch.Import{BatchID: b.ID, Origin: batch.Imported, Source: "old.csv", SHA256: "1"},
		func(yield func(batch.Story, error) bool) { yield(past, nil) }))
	if page := s.Get("/necks/QM-2501-0001", http.StatusOK); !strings.Contains(page, "0.28") || strings.Contains(page, "/explain?") {
		t.Error("a neck without readings leads to how its values came about, which nobody can tell")
	}
	s.Get("/necks/QM-2611-0001/explain?attempt=9&name=relief", http.StatusNotFound)
	s.Get("/necks/QM-2611-0001/explain?attempt=1&name=relif", http.StatusNotFound)
}

// TestExplainPageSaysWhatIsMissing asks for values that half measured necks do not give.
func TestExplainPageSaysWhatIsMissing(t *testing.T) {
	s := shop(t).Fill()
	ctx := t.Context()
	neck := webtest.Must[batch.Neck](s)(s.Rec.Neck(ctx, "QM-2611-0005"))
	in := webtest.Must[batch.Inspection](s)(s.Rec.StartInspection(ctx, batch.Inspection{NeckID: neck.ID, Serial: neck.Serial, BatchID: neck.BatchID, Inspector: "Mara Quill"}))
	for _, fret := range []int{1, 17} {
		webtest.Must[batch.Reading](s)(s.Rec.AppendReading(ctx, batch.Reading{InspectionID: in.ID, Point: batch.Point{Kind: batch.Crown, Track: "bass", Fret: fret}, Round: 1, By: "Mara Quill", Value: 0.01, Decoder: "typed"}))
	}
	page := s.Get("/necks/QM-2611-0005/explain?attempt=1&name=relief&track=bass&fret=7", http.StatusOK)
	webtest.Wants(t, page, "No value: the readings lack", "of the bass side at fret", "Height of the chord between the datum frets")
	if strings.Contains(page, "Expanded uncertainty") {
		t.Error("a value that there is not has an uncertainty")
	}
	webtest.Wants(t, s.Get("/necks/QM-2611-0005/explain?attempt=1&name=twist", http.StatusOK), "No value: the readings lack")
}
