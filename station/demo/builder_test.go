package demo

import (
	"path/filepath"
	"testing"

	"sagitta/batch"
	"sagitta/batch/history/visits"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/export/sheet"
	"sagitta/station/app"
)

// TestOpenBuilder: the invented builder's record is a builder's, has an instrument with all that is kept of one, verifies, and is there again
// at the next start.
func TestOpenBuilder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	for start := range 2 {
		a, err := OpenBuilder(t.Context(), app.Options{Name: "Quillmere back room", Dir: dir}, 1)
		if err != nil {
			t.Fatal(err)
		}
		if err := a.Close(); err != nil {
			t.Fatal(err)
		}
		db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{ReadOnly: true})
		if err != nil {
			t.Fatal(err)
		}
		house, err := db.House(t.Context())
		if err != nil || house != batch.Builder {
			t.Errorf("house %s, %v", house, err)
		}
		stays, _ := db.Visits(t.Context(), visits.Serial)
		notes, _ := db.InstrumentNotes(t.Context(), visits.Serial)
		promises, _ := db.Promises(t.Context(), visits.Serial)
		photos, _ := db.Photographs(t.Context(), visits.Serial)
		if len(stays) != 16 || len(notes) != 1 || len(promises) != 1 || len(photos) != 2 {
			t.Errorf("start %d: %d visits, %d notes, %d promises, %d photographs", start, len(stays), len(notes), len(promises), len(photos))
		}
		if missing, err := photograph.Missing(dir, photos); missing != "" || err != nil {
			t.Errorf("%s, %v", missing, err)
		}
		if err := db.VerifyAudit(t.Context()); err != nil {
			t.Error(err)
		}
		template, err := sheet.ReadTemplate(dir)
		if err != nil {
			t.Fatal(err)
		}
		made, err := sheet.Of(t.Context(), db, template, visits.Serial)
		if err != nil {
			t.Fatal(err)
		}
		shown := false
		for _, part := range made.Parts {
			shown = shown || part.Photo != nil
		}
		if !shown {
			t.Error("the sheet shows no photograph")
		}
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	}
}
