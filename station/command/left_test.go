package command

import (
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch/record/recordtest"
	"sagitta/station/anchors"
)

// A workbook, a sheet as PDF and as HTML, and an archive, as the program writes them, prove the record that they are from, and show that an older
// copy in its place has lost its end.
func TestWhatLeftTheBuilding(t *testing.T) {
	s := recordtest.New(t, "QM/1")
	dir, out := filepath.Dir(s.Path), t.TempDir()
	older := filepath.Join(out, "older.db")
	if err := s.Backup(t.Context(), older); err != nil {
		t.Fatal(err)
	}
	s.Verdict(s.Start("QM/1"), "pass", 0.31)
	signer := anchors.New(anchors.Options{Record: s.DB, Dir: dir, Station: "bench 1"})
	if err := signer.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	book, archive := filepath.Join(out, "book.xlsx"), filepath.Join(out, "shop.zip")
	for _, args := range [][]string{{"report", "QM-2611", "-o", book}, {"sheet", "QM/1", "-o", out}, {"backup", archive}} {
		if code, _, errs := sagitta(t, "", append(args, "--data", dir)...); code != exitDone {
			t.Fatalf("%q: %s", args, errs)
		}
	}
	left := []string{book, filepath.Join(out, "QM_1.pdf"), filepath.Join(out, "QM_1.html"), archive}
	recordtest.Must(s.AddPerson(t.Context(), "Mara Quill", "Ada Wynn", "inspector"))(t)
	code, text, errs := sagitta(t, "", append([]string{"verify", "--data", dir, "--against"}, left...)...)
	if code != exitDone || strings.Count(text, " is still there unchanged; 1 entry was added since.") != len(left) {
		t.Errorf("beside the record they are from: %d, %s%s", code, text, errs)
	}
	code, text, errs = sagitta(t, "", append([]string{"verify", "--data", older, "--against"}, left...)...)
	if code != exitReject || strings.Count(text, "its end is missing.") != len(left) || !strings.Contains(errs, "none of 4 files says that the record is as it was: 4 do not agree with the record") {
		t.Errorf("beside an older copy: %d, %s%s", code, text, errs)
	}
}
