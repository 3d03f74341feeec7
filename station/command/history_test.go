package command

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/web"
)

// TestHistory writes a small invented history: the record is whole, no second one is written over it, and every page opens.
func TestHistory(t *testing.T) {
	dir := t.TempDir()
	code, out, errs := sagitta(t, "", "demo", "--history", "400", "--out", dir)
	if code != exitDone || !strings.Contains(out, "400 invented necks") {
		t.Fatalf("code %d: %s %s", code, out, errs)
	}
	if errs != "" {
		t.Errorf("what is no terminal is told of the progress: %q", errs)
	}
	told := out
	code, out, errs = sagitta(t, "", "verify", "--data", dir)
	if code != exitDone || !strings.Contains(out, "The record is whole") {
		t.Fatalf("verify: code %d: %s %s", code, out, errs)
	}
	for _, want := range []string{"serve --data " + dir, " in 1 batch, "} {
		if !strings.Contains(told, want) {
			t.Errorf("the history does not tell %q: %s", want, told)
		}
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if code, _, errs := sagitta(t, "", "backup", copied, "--data", dir); code != exitDone {
		t.Fatalf("backup: code %d: %s", code, errs)
	}
	if code, again, errs := sagitta(t, "", "verify", "--data", copied); code != exitDone || again != out {
		t.Errorf("verify of the copy as it lies: code %d: %s %s, want %s", code, again, errs, out)
	}
	if code, _, errs := sagitta(t, "", "backup", copied, "--data", dir); code != exitFailed || !strings.Contains(errs, "there is a file of this name already") {
		t.Errorf("backup onto a file: code %d: %s", code, errs)
	}
	nowhere := filepath.Join(t.TempDir(), "no", "copy.db")
	if code, _, errs := sagitta(t, "", "backup", nowhere, "--data", dir); code != exitFailed || !strings.Contains(errs, "the folder "+filepath.Dir(nowhere)+" does not exist") {
		t.Errorf("backup into no folder: code %d: %s", code, errs)
	}
	if code, _, errs := sagitta(t, "", "demo", "--history", "400", "--out", dir); code != exitFailed || !strings.Contains(errs, "has a record already") {
		t.Errorf("a second history: code %d, %s", code, errs)
	}
	if code, _, errs := sagitta(t, "", "demo", "--history", "-1", "--out", t.TempDir()); code != exitUsage || !strings.Contains(errs, "found -1 neck") {
		t.Errorf("a negative history: code %d, %s", code, errs)
	}
	truth, err := os.ReadFile(filepath.Join(dir, "history.txt"))
	if err != nil || strings.Count(string(truth), "\n") != 11 || !strings.Contains(told, filepath.Join(dir, "history.txt")) {
		t.Errorf("truth: %s, %v; told: %s", truth, err, told)
	}
	for _, planted := range []string{"its zero was bad", "another supplier", "slot file wears", "string 6 is too thick", "reads action", "relative humidity", "each newton that its strings pull", "A turn of its rod"} {
		if !strings.Contains(string(truth), planted) {
			t.Errorf("the list of what was planted does not tell %q: %s", planted, truth)
		}
	}
	a := openStation(t, dir)
	defer func() { _ = a.Close() }()
	pages, err := web.New(web.Options{Bench: a.Bench, Record: a.Record, Station: a.Name})
	if err != nil {
		t.Fatal(err)
	}
	batches, err := a.Record.Batches(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	paths := []string{"/", "/batches", "/necks", "/necks?q=QM-", "/specs", "/gauges", "/people"}
	for _, b := range batches {
		paths = append(paths, "/batches/"+b.Number, "/batches/"+b.Number+"/workbook.xlsx?unit=mm", "/specs/"+b.Spec.ID, "/necks/"+b.Number+"-0001")
		reworked, err := a.Record.NeckPage(t.Context(), batch.NeckFilter{BatchID: b.ID, Firsts: []batch.FirstIs{{Dimension: batch.ByReason, Value: "relief"}}, Limit: 1})
		if err != nil || len(reworked.Necks) == 0 {
			t.Fatalf("batch %s has no neck that failed by relief, %v", b.Number, err)
		}
		paths = append(paths, "/necks/"+reworked.Necks[0].Serial)
	}
	gauges, err := a.Record.Gauges(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range gauges {
		paths = append(paths, "/gauges/"+g.ID)
	}
	for _, path := range paths {
		w := httptest.NewRecorder()
		pages.ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "http://127.0.0.1"+path, nil))
		if w.Code != http.StatusOK {
			t.Errorf("%s: status %d", path, w.Code)
		}
		if strings.HasPrefix(path, "/batches/") && strings.HasSuffix(path, "01") && !strings.Contains(w.Body.String(), "Invented data") {
			t.Errorf("%s does not say that its data are invented", path)
		}
	}
}

// TestImport takes the example in: first a rehearsal, then all of it, then it is recognised.
func TestImport(t *testing.T) {
	dir := t.TempDir()
	a := openStation(t, dir)
	if _, err := a.Record.AddPerson(t.Context(), "Tove Aske", "Tove Aske", batch.QualityManager); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "demo", "qm-bolt-648.toml"))
	if err != nil {
		t.Fatal(err)
	}
	spec, err := a.Record.AddSpec(t.Context(), "Tove Aske", "", "bolt.toml", text)
	if err != nil {
		t.Fatal(err)
	}
	b, err := a.Record.OpenBatch(t.Context(), "Tove Aske", batch.Batch{Number: "QM-2609", Spec: spec}, nil)
	if err != nil {
		t.Fatal(err)
	}
	mapping, file := filepath.Join("..", "..", "testdata", "import", "old-line.toml"), filepath.Join("..", "..", "testdata", "import", "old-line.csv")
	take := func(wantCode int, want string, args ...string) {
		t.Helper()
		code, out, errs := sagitta(t, "", append([]string{"import", "--data", dir}, args...)...)
		if code != wantCode || !strings.Contains(out+errs, want) {
			t.Errorf("%q: code %d, want %d: %s%s, want %q", args, code, wantCode, out, errs, want)
		}
	}
	take(exitDone, "can be imported into QM-2609: 4 necks with 5 inspections, 3 pass, 1 scrap. Nothing was written.", mapping, file, "--batch", "QM-2609", "--dry-run")
	take(exitFailed, "in use", mapping, file, "--batch", "QM-2609", "--by", "Tove Aske")
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	take(exitUsage, "--batch and --by are needed", mapping, file, "--batch", "QM-2609")
	take(exitUsage, "allowed are the quality managers on file: Tove Aske", mapping, file, "--batch", "QM-2609", "--by", "Nobody")
	take(exitFailed, `batch "QM-1" is not in the record`, mapping, file, "--batch", "QM-1", "--dry-run")
	broken := filepath.Join(t.TempDir(), "broken.csv")
	good, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(broken, []byte(strings.Replace(string(good), "0,12;1,91", "twelve;1,91", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	take(exitFailed, `broken.csv:2: Twist: found "twelve"; allowed: a number`, mapping, broken, "--batch", "QM-2609", "--by", "Tove Aske")
	code, out, errs := sagitta(t, "", "import", "--data", dir, mapping, file, "--batch", "QM-2609", "--by", "Tove Aske")
	for _, want := range []string{"imported into QM-2609: 4 necks with 5 inspections", "It names no gauge and holds no checks: whether a gauge was wrong then cannot be known."} {
		if code != exitDone || !strings.Contains(out, want) {
			t.Errorf("code %d, %s%s, want %q", code, out, errs, want)
		}
	}
	take(exitFailed, "was imported as old-line.csv on", mapping, file, "--batch", "QM-2609", "--by", "Tove Aske")
	take(exitFailed, "was imported as old-line.csv on", mapping, file, "--batch", "QM-2609", "--dry-run")

	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	counts, err := db.Counts(t.Context(), b.ID)
	if err != nil || counts.Registered != 4 || counts.FirstPass != 2 || counts.Passed != 3 || counts.Scrap != 1 {
		t.Errorf("counts %+v, %v", counts, err)
	}
	story, err := db.NeckStory(t.Context(), "QX-0002")
	if err != nil || story.Import == nil || story.Import.Origin != batch.Imported || len(story.Inspections) != 2 || story.Attempts != 2 {
		t.Errorf("the story of QX-0002: %+v, %v", story, err)
	}
	if err := db.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
	events, err := db.Audit(t.Context(), 1)
	if err != nil || events[0].What != "necks imported" || !strings.Contains(events[0].Detail, "old-line.csv") {
		t.Errorf("the chain ends with %+v, %v", events, err)
	}
}
