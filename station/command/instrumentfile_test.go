package command

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
)

// TestInstrumentTravels: an instrument with its photographs is taken out of a record and into a new one, and comes out of that with the same bytes; taken in again, or
// in where it came from, nothing is added.
func TestInstrumentTravels(t *testing.T) {
	s := recordtest.New(t, "QM-1")
	dir, ctx := filepath.Dir(s.Path), t.Context()
	s.Verdict(s.Start("QM-1"), "pass", 0.31)
	spec := s.Batch.Spec.Spec
	recordtest.Must(s.OpenVisit(ctx, "x", record.NewVisit{Serial: "QM-1", Wishes: "low action", Spec: spec}))(t)
	var file bytes.Buffer
	if err := png.Encode(&file, image.NewGray(image.Rect(0, 0, 30, 20))); err != nil {
		t.Fatal(err)
	}
	p := recordtest.Must(photograph.Take(file.Bytes()))(t)
	if err := photograph.Keep(dir, []photograph.Photograph{p}, func() error {
		return s.AddPhotographs(ctx, "x", "QM-1", []batch.Photograph{{Pin: "visit", Digest: p.Digest, Width: p.Width, Height: p.Height, Bytes: len(p.JPEG)}})
	}); err != nil {
		t.Fatal(err)
	}
	out := t.TempDir()
	one, two, home := filepath.Join(out, "one"), filepath.Join(out, "two"), filepath.Join(out, "home")
	run := func(want string, args ...string) {
		t.Helper()
		if code, text, errs := sagitta(t, "", args...); code != exitDone || !strings.Contains(text, want) {
			t.Fatalf("%q ends with %d: %s%s", args, code, text, errs)
		}
	}
	fails := func(want string, args ...string) {
		t.Helper()
		if code, _, errs := sagitta(t, "", args...); code == exitDone || !strings.Contains(errs, want) {
			t.Errorf("%q ends with %d: %s", args, code, errs)
		}
	}
	run("1 photograph beside it", "instrument", "export", "QM-1", "--data", dir, "-o", one)
	run("QM-1 is taken in, with ", "instrument", "import", one, "--data", home)
	run("everything of QM-1 is here already", "instrument", "import", one, "--data", home)
	run("1 photograph beside it", "instrument", "export", "QM-1", "--data", home, "-o", two)
	for _, name := range []string{lifeFile, filepath.Join(photograph.Folder, p.Digest+".jpg")} {
		a, b := recordtest.Must(os.ReadFile(filepath.Join(one, name)))(t), recordtest.Must(os.ReadFile(filepath.Join(two, name)))(t)
		if !bytes.Equal(a, b) {
			t.Errorf("%s is another one on its way back", name)
		}
	}
	run("", "verify", "--data", home)
	run("QM-1.pdf", "sheet", "QM-1", "--data", home, "-o", out)

	fails("nobody", "instrument", "export", "nobody", "--data", dir, "-o", filepath.Join(out, "none"))
	other := strings.ReplaceAll(string(recordtest.Must(os.ReadFile(filepath.Join(one, lifeFile)))(t)), "QM-1", "QM-7")
	if err := os.WriteFile(filepath.Join(two, lifeFile), []byte(other), 0o600); err != nil {
		t.Fatal(err)
	}
	fails("is of QM-7: give another folder", "instrument", "export", "QM-1", "--data", dir, "-o", two)
	fails("no such file", "instrument", "import", out, "--data", home)
	bare := filepath.Join(out, "bare")
	if err := os.WriteFile(filepath.Join(one, photograph.Folder, p.Digest+".jpg"), []byte("x"), 0o600); err != nil {
		t.Fatal(err)
	}
	fails("is not as it was kept", "instrument", "import", one, "--data", bare)
	// A record that refuses keeps no photograph either.
	taken := recordtest.New(t, "QM-1")
	taken.Verdict(taken.Start("QM-1"), "pass", 0.31)
	if err := taken.Close(); err != nil {
		t.Fatal(err)
	}
	run("", "instrument", "export", "QM-1", "--data", home, "-o", one)
	fails("another instrument here", "instrument", "import", one, "--data", filepath.Dir(taken.Path))
	if names, err := os.ReadDir(filepath.Join(filepath.Dir(taken.Path), photograph.Folder)); err == nil && len(names) > 0 {
		t.Errorf("photographs of an instrument that was refused: %v", names)
	}
	if !slices.Contains(filesIn(t, home), "record.db") {
		t.Error("no record was begun")
	}
}
