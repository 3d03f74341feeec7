package copies_test

import (
	"database/sql"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/batch/tell"
	"sagitta/station/copies"
)

// TestVerifyingTellsOnceAndUntilSomebodyLooks: a record that is whole is due for nothing; what is found stands on the strip until somebody looks, and both are in the trail.
func TestVerifyingTellsOnceAndUntilSomebodyLooks(t *testing.T) {
	s := recordtest.New(t, recordtest.Serials(2)...)
	s.Pass(recordtest.Serials(2)...)
	now := time.Date(2026, 12, 1, 9, 0, 0, 0, time.Local)
	dir := t.TempDir()
	k := &copies.Keeper{Record: s.DB, Making: copies.Making{Dir: dir, Station: "bench 1", Now: func() time.Time { return now }}}
	k.Start()
	k.Verify(t.Context(), now)
	if st := k.State(); !st.Verify.At.Equal(now) || st.Verify.Failed != "" || st.Verified != recordtest.Must(s.Entries(t.Context()))(t) || len(k.Due(now, -1)) != 0 {
		t.Fatalf("of a record that is whole: %+v, due %+v", st, k.Due(now, -1))
	}
	if due := k.Due(now.AddDate(0, 0, 4), -1); len(due) != 1 || due[0].Grave || !strings.Contains(due[0].Says, "not verified for 4 days") {
		t.Errorf("four days later: %+v", due)
	}

	raw := recordtest.Must(sql.Open("sqlite", s.Path))(t)
	for _, change := range []string{`DROP TRIGGER verdicts_not_changed`, `UPDATE verdicts SET reason = 'as agreed' WHERE ord = 2`} {
		recordtest.Must(raw.Exec(change))(t)
	}
	if err := raw.Close(); err != nil {
		t.Fatal(err)
	}
	k.Verify(t.Context(), now.AddDate(0, 0, 1))
	due := k.Due(now.AddDate(0, 0, 1), -1)
	if len(due) != 1 || !due[0].Grave || due[0].What != "record" || !strings.Contains(due[0].Says, recordtest.Serials(2)[1]) || !due[0].Since.Equal(now.AddDate(0, 0, 1)) {
		t.Fatalf("of a changed verdict: %+v", due)
	}
	found := func() (n int) {
		for _, e := range recordtest.Must(s.Trail(t.Context(), batch.TrailFilter{Matter: batch.OfRecord}))(t) {
			if e.What == "record found not whole" && strings.Contains(e.Detail, recordtest.Serials(2)[1]) {
				n++
			}
		}
		return n
	}
	k.Verify(t.Context(), now.AddDate(0, 0, 2))
	if found() != 1 {
		t.Errorf("the trail tells %d times what was found twice", found())
	}
	if err := k.Saw(t.Context(), "Mara Quill", ""); batch.KindOf(err) != batch.Mendable {
		t.Errorf("looked at without a note: %v", err)
	}
	if err := k.Saw(t.Context(), "Mara Quill", "yesterday's copy is brought back"); err != nil {
		t.Fatal(err)
	}
	if due := k.Due(now.AddDate(0, 0, 2), -1); len(due) != 0 || k.State().Verify.Failed == "" {
		t.Errorf("after somebody looked: %+v", due)
	}
	again := &copies.Keeper{Record: s.DB, Making: copies.Making{Dir: dir, Station: "bench 1", Now: func() time.Time { return now.AddDate(0, 0, 3) }}}
	again.Start()
	again.Verify(t.Context(), now.AddDate(0, 0, 3))
	if due := again.Due(now.AddDate(0, 0, 3), -1); len(due) != 0 || found() != 1 {
		t.Errorf("after the station began anew: %+v, told %d times", due, found())
	}
	if e := recordtest.Must(s.Trail(t.Context(), batch.TrailFilter{Limit: 1}))(t)[0]; e.What != "finding looked at" || e.By != "Mara Quill" || !strings.Contains(e.About, recordtest.Serials(2)[1]) {
		t.Errorf("the newest entry: %+v", e)
	}
}

// TestRestoredRecordSaysSo: the trail of a record that was brought back tells from which copy, of when, and that what came after it is missing; the record is whole.
func TestRestoredRecordSaysSo(t *testing.T) {
	s := recordtest.New(t, recordtest.Serials(1)...)
	made := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
	file := filepath.Join(t.TempDir(), "shop.zip")
	recordtest.Must(copies.Write(t.Context(), s.DB, file, copies.Making{Dir: filepath.Dir(s.Path), Station: "bench 1", Now: func() time.Time { return made }}))(t)
	entries := recordtest.Must(s.Entries(t.Context()))(t)
	to := filepath.Join(t.TempDir(), "back")
	if _, _, err := copies.Restore(t.Context(), file, copies.Restoring{Dir: to, Now: made.Add(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	db := recordtest.Must(record.Open(filepath.Join(to, "record.db"), record.Options{Station: "bench 1"}))(t)
	defer func() { _ = db.Close() }()
	if err := db.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
	all := recordtest.Must(db.Trail(t.Context(), batch.TrailFilter{Matter: batch.OfRecord}))(t)
	want := fmt.Sprintf("Somebody at the machine brought this record back from the copy shop.zip: made at 2026-11-02T08:00:00Z, with %d entries; what was recorded after that is missing here.", entries)
	if e := all[0]; e.Seq != entries+1 || e.Station != "bench 1" || (tell.Words{}).Entry(e) != want || !e.At.Equal(made.Add(time.Hour)) {
		t.Errorf("entry %d of %s at %v: %s\nwant entry %d: %s", e.Seq, e.Station, e.At, (tell.Words{}).Entry(e), entries+1, want)
	}
}
