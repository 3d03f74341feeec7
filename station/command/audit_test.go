package command

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
)

// trailOfShop is a folder whose record holds two passed necks and a note that begins like a formula.
func trailOfShop(t *testing.T) (dir string) {
	t.Helper()
	s := recordtest.New(t, recordtest.Serials(3)...)
	s.Pass(recordtest.Serials(2)...)
	recordtest.Must(s.AddNote(t.Context(), recordtest.Inspector, "=1+1"))(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return filepath.Dir(s.Path)
}

// TestAuditCommand reads the trail of a record as text, comma-separated values, JSON and a workbook, and holds it against what was done.
func TestAuditCommand(t *testing.T) {
	dir := trailOfShop(t)
	code, out, errs := sagitta(t, "", "audit", "--data", dir, "--neck", "QM-2611-0002")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if code != exitDone || errs != "" || len(lines) != 2 || !strings.HasSuffix(lines[0], "  The verdict on QM-2611-0002, attempt 1, by Ossian Reed: pass.") ||
		!strings.HasSuffix(lines[1], "  Mara Quill registered necks of batch QM-2611: 3, QM-2611-0001 to QM-2611-0003.") {
		t.Errorf("code %d, %q\n%s", code, errs, out)
	}
	_, out, _ = sagitta(t, "", "audit", "--data", dir, "--by", "Ossian Reed", "--matter", "verdicts", "--limit", "1", "--json")
	var e struct {
		Seq                                    int
		By, Says, What, Neck, Batch, SHA, Hash string
		Attempt                                int
	}
	if err := json.Unmarshal([]byte(out), &e); err != nil || e.Neck != "QM-2611-0002" || e.Batch != "QM-2611" || e.Attempt != 1 || e.What != "verdict" || len(e.Hash) != 64 {
		t.Errorf("%v: %s", err, out)
	}
	_, out, _ = sagitta(t, "", "audit", "--data", dir, "--csv")
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil || !slices.Equal(rows[0][:4], []string{"seq", "at", "by", "says"}) || rows[1][13] != "'=1+1" || !strings.HasSuffix(rows[1][3], "left a note for the next shift: =1+1.") {
		t.Errorf("%v: %.400s", err, out)
	}
	n := trailIn(t, dir)
	if len(rows) != n+1 {
		t.Errorf("%d rows of %d entries", len(rows), n)
	}
	file := filepath.Join(t.TempDir(), "trail.xlsx")
	if code, out, errs = sagitta(t, "", "audit", "--data", dir, "--out", file); code != exitDone || strings.TrimSpace(out) != file {
		t.Fatalf("code %d, %q, %q", code, out, errs)
	}
	book, err := excelize.OpenFile(file)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = book.Close() }()
	sheet, err := book.GetRows("Trail")
	if err != nil || len(sheet) != n+1 || sheet[1][3] != "Ossian Reed left a note for the next shift: =1+1." || !slices.Equal(book.GetSheetList(), []string{"Trail"}) {
		t.Errorf("%v: %d rows, %q", err, len(sheet), sheet[1])
	}
	for i := range sheet {
		for _, column := range []string{"C", "D", "F"} {
			if f, err := book.GetCellFormula("Trail", column+string(rune('1'+i%9))); err != nil || f != "" {
				t.Errorf("a cell holds the formula %q", f)
			}
		}
	}
}

// trailIn is how many entries the trail of a folder's record has.
func trailIn(t *testing.T, dir string) int {
	t.Helper()
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{ReadOnly: true}))(t)
	defer func() { _ = db.Close() }()
	return int(recordtest.Must(db.Entries(t.Context()))(t))
}

// TestAuditCommandRefuses what it cannot pick out or write, and leaves no file.
func TestAuditCommandRefuses(t *testing.T) {
	dir := trailOfShop(t)
	file := filepath.Join(t.TempDir(), "trail.doc")
	for _, c := range []struct {
		args string
		code int
		says string
	}{
		{"--neck QM-9", exitFailed, `neck "QM-9"`},
		{"--matter weather", exitUsage, `allowed: verdicts, inspections`},
		{"--from yesterday", exitUsage, `found "yesterday"; allowed: a day, such as 2026-11-30`},
		{"--csv --json", exitUsage, "exclude each other"},
		{"--out " + file, exitFailed, `the form "doc" of the record's trail is not known; allowed are`},
	} {
		code, out, errs := sagitta(t, "", append([]string{"audit", "--data", dir}, strings.Fields(c.args)...)...)
		if code != c.code || out != "" || !strings.Contains(errs, c.says) {
			t.Errorf("%s: code %d, %q, %q", c.args, code, out, errs)
		}
	}
	if _, err := os.Stat(file); err == nil {
		t.Error("a file was left")
	}
	_, out, errs := sagitta(t, "", "audit", "--data", dir, "--from", "2026-11-02", "--to", "2026-11-02")
	_, none, _ := sagitta(t, "", "audit", "--data", dir, "--from", "2026-11-03")
	if strings.Count(out, "\n") != trailIn(t, dir) || none != "" {
		t.Errorf("of the day: %s%s; of the next: %s", out, errs, none)
	}
}

// TestAuditSpeaksTheHousesWords: the trail of a record that is kept for a builder has no batches.
func TestAuditSpeaksTheHousesWords(t *testing.T) {
	dir := trailOfShop(t)
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"}))(t)
	if err := errors.Join(db.SetHouse(t.Context(), recordtest.Manager, batch.Builder), db.Close()); err != nil {
		t.Fatal(err)
	}
	code, out, errs := sagitta(t, "", "audit", "--data", dir)
	if code != exitDone || errs != "" || !strings.Contains(out, "  QM-2611-0002 was measured by Ossian Reed, attempt 1: set up as wished.\n") || !strings.Contains(out, "  Mara Quill opened QM-2611.\n") {
		t.Errorf("code %d, %q\n%s", code, errs, out)
	}
}
