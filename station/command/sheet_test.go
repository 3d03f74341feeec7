package command

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/batch/record/recordtest"
	"sagitta/export/sheet"
)

// TestSheetCommand writes both files by the shop's template, says where they are, and names what is wrong in a template.
func TestSheetCommand(t *testing.T) {
	s := recordtest.New(t, "QM/1")
	dir, out := filepath.Dir(s.Path), t.TempDir()
	s.Verdict(s.Start("QM/1"), "pass", 0.31)
	template := filepath.Join(dir, sheet.TemplateFile)
	code, text, _ := sagitta(t, "", "sheet", "--template")
	if code != exitDone || !strings.Contains(text, "[words]") {
		t.Fatalf("--template ends with %d: %s", code, text)
	}
	if err := os.WriteFile(template, []byte(strings.Replace(text, "heading = ''", "heading = 'Quillmere'", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	code, text, errs := sagitta(t, "", "sheet", "QM/1", "--data", dir, "-o", out)
	if names := filesIn(t, out); code != exitDone || !slices.Equal(names, []string{"QM_1.html", "QM_1.pdf"}) || !strings.Contains(text, filepath.Join(out, "QM_1.pdf")) {
		t.Fatalf("it ends with %d and leaves %q: %s%s", code, names, text, errs)
	}
	page := string(recordtest.Must(os.ReadFile(filepath.Join(out, "QM_1.html")))(t))
	for _, want := range []string{"Quillmere", "QM/1"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if code, _, errs := sagitta(t, "", "sheet", "nobody", "--data", dir, "-o", out); code != exitFailed || !strings.Contains(errs, "nobody") {
		t.Errorf("an unknown number ends with %d: %s", code, errs)
	}
	if err := os.WriteFile(template, []byte("heding = 'Q'\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := sagitta(t, "", "sheet", "QM/1", "--data", dir, "-o", out); code == exitDone || !strings.Contains(errs, `sheet.toml:1: heding: unknown key; did you mean "heading"?`) {
		t.Errorf("a template that is not in order ends with %d: %s", code, errs)
	}
}
