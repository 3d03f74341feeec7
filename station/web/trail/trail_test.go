package trail

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record/recordtest"
	"sagitta/station/copies"
	"sagitta/station/web/site"
	"sagitta/station/web/webtest"
)

// kept is a record that is cared for as a test says.
type kept struct {
	state copies.State
	free  int64
	saw   []string // by and note
}

func (k *kept) State() copies.State { return k.state }
func (k *kept) Free() int64         { return k.free }
func (k *kept) Saw(_ context.Context, by, note string) error {
	if note == "" {
		return batch.Mendable.Errorf("a note is missing")
	}
	k.saw = append(k.saw, by, note)
	k.state.Looked = &copies.Looked{By: by, At: now, Found: k.state.Verify.Failed}
	return nil
}

var now = time.Date(2026, 12, 1, 11, 0, 0, 0, time.Local)

// open is the page of a shop's record, in which two necks passed.
func open(t *testing.T, care Care) (*webtest.Shop, *recordtest.Shop) {
	t.Helper()
	s := recordtest.New(t, recordtest.Serials(3)...)
	s.Pass(recordtest.Serials(2)...)
	w := &webtest.Shop{TB: t, Rec: s.DB, Gauge: s.Gauge, Batch: s.Batch}
	return w.Mount(func(k *site.Site) error {
		return Mount(k, Options{Record: s.DB, Care: care, Now: func() time.Time { return now }})
	}), s
}

// TestPagePicksOut reads the trail on the page: what is asked for, in pages, as files, and what is not there.
func TestPagePicksOut(t *testing.T) {
	w, s := open(t, nil)
	page := w.Get("/record?"+url.Values{"neck": {"QM-2611-0002"}, "matter": {"verdicts"}}.Encode(), http.StatusOK)
	webtest.Wants(t, page, "The verdict on QM-2611-0002, attempt 1, by Ossian Reed: pass.", `<a href="/necks/QM-2611-0002">`, `<a href="/batches/QM-2611">`, `value="QM-2611-0002"`, `<option value="verdicts" selected>`)
	if strings.Contains(page, "QM-2611-0001") || strings.Contains(page, "Older") {
		t.Error("the page tells of another neck, or of a further page")
	}
	webtest.Wants(t, w.Get("/record?gauge=carriage+indicator", http.StatusOK), "saved the page of the gauge carriage indicator", `<a href="/gauges/`+s.Gauge.ID+`">`)
	webtest.Wants(t, w.Get("/record?neck=QM-9", http.StatusNotFound), "QM-9", "not")
	webtest.Wants(t, w.Get("/record?from=soon", http.StatusUnprocessableEntity), "found &#34;soon&#34;; allowed: a day")
	webtest.Wants(t, w.Get("/record?to=2020-01-01", http.StatusOK), "The trail has nothing of it.")
	for range 60 {
		recordtest.Must(s.AddNote(t.Context(), recordtest.Inspector, "=1+1"))(t)
	}
	webtest.Wants(t, page, `<p class="print-only">All entries; of QM-2611-0002; about: Verdicts.</p>`)
	first := w.Get("/record", http.StatusOK)
	webtest.Wants(t, first, `<p class="print-only">30 of the entries, the newest first.</p>`)
	if n := strings.Count(first, "left a note"); n != atOnce {
		t.Errorf("%d entries on the first page", n)
	}
	_, after, _ := strings.Cut(first, `<a href="/record?before=`)
	before, _, _ := strings.Cut(after, `"`)
	second := w.Get("/record?before="+before, http.StatusOK)
	if n := strings.Count(second, "left a note"); n != 30 {
		t.Errorf("%d notes on the second page", n)
	}
	webtest.Wants(t, second, "The newest", "Older")
	csv := w.Get("/record/trail.csv?matter=batches", http.StatusOK)
	if n := strings.Count(csv, ",'=1+1,"); n != 60 || strings.Contains(csv, ",=1+1") {
		t.Errorf("%d guarded cells in the file", n)
	}
	webtest.Wants(t, w.Get("/record/trail.json?neck=QM-2611-0001", http.StatusOK), `"neck":"QM-2611-0001","attempt":1,"batch":"QM-2611"`)
	if !strings.HasPrefix(w.Get("/record/trail.xlsx", http.StatusOK), "PK") {
		t.Error("the workbook is none")
	}
	w.Get("/record/trail.doc", http.StatusUnprocessableEntity)
}

// TestPageSaysHowTheRecordStands holds the page's head against what became of verifications, copies, checkpoints and the disk.
func TestPageSaysHowTheRecordStands(t *testing.T) {
	k := &kept{free: -1}
	w, s := open(t, k)
	webtest.Wants(t, w.Get("/record", http.StatusOK), "The record has not been verified yet by this station", "No copies are made by a plan", "No checkpoint has been signed yet")

	at := now.Add(-8 * time.Hour)
	k.free = 3 << 30
	k.state = copies.State{Plan: &copies.Plan{To: "/srv/copies", At: 3 * time.Hour, Since: now.AddDate(0, -1, 0)}, Verify: copies.Done{At: at, Tried: at}, Verified: 1,
		Backup: copies.Done{At: at, File: "/srv/copies/a.zip"}, Drill: copies.Done{At: now.AddDate(0, 0, -40), File: "/srv/copies/b.zip"}}
	key := recordtest.Must(anchor.ReadKey(recordtest.Must(anchor.NewKey("quillmere"))(t)))(t)
	size, root, err := s.TreeHead(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := s.KeepCheckpoint(t.Context(), recordtest.Must(key.Sign(size, root, now.Add(-5*time.Minute)))(t)); err != nil {
		t.Fatal(err)
	}
	page := w.Get("/record", http.StatusOK)
	webtest.Wants(t, page, "The record was found whole on 2026-12-01 03:00, 8 h ago, with 1 entry.", "The newest copy was made on 2026-12-01 03:00, 8 h ago: /srv/copies/a.zip.",
		"It was proved on 2026-10-22 11:00, 40 days ago that this copy can be restored: /srv/copies/b.zip.", "3072 MB are left on the record&#39;s disk.", "of the evidence were signed on 2026-12-01 10:55, 5 min ago, by the key station/quillmere.")
	if strings.Contains(page, "/record/looked") {
		t.Error("there is nothing to look at")
	}

	k.state.Verify.Failed, k.state.Verify.Since = "entry 7 is missing", now.Add(-time.Hour)
	page = w.Get("/record", http.StatusOK)
	webtest.Wants(t, page, "The record was found not whole on 2026-12-01 10:00, 60 min ago: entry 7 is missing. It was whole on 2026-12-01 03:00, 8 h ago.", "The record is not whole", `action="/record/looked"`)
	webtest.Wants(t, w.Post("/record/looked", url.Values{"by": {recordtest.Manager}}, http.StatusUnprocessableEntity), "note")
	webtest.Wants(t, w.Post("/record/looked", url.Values{"by": {recordtest.Manager}, "note": {strings.Repeat("x", 401)}}, http.StatusUnprocessableEntity), "at most 400 are allowed")
	w.Post("/record/looked", url.Values{"by": {recordtest.Manager}, "note": {"the copy is brought back"}}, http.StatusSeeOther)
	if len(k.saw) != 2 || k.saw[0] != recordtest.Manager || k.saw[1] != "the copy is brought back" {
		t.Errorf("noted %q", k.saw)
	}
	page = w.Get("/record", http.StatusOK)
	webtest.Wants(t, page, "Mara Quill looked at it on 2026-12-01 11:00, just now.")
	if strings.Contains(page, `action="/record/looked"`) {
		t.Error("the page asks again")
	}
}
