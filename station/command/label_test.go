package command

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/batch/record/recordtest"
	"sagitta/export/sheet"
)

// TestLabelCommand writes a serial number's set-up and a batch's travellers, a page each, and says where they are; their codes say what is in the record.
func TestLabelCommand(t *testing.T) {
	s := recordtest.New(t, "QM-1", "QM-2")
	dir, out := filepath.Dir(s.Path), t.TempDir()
	s.Verdict(s.Start("QM-1"), "pass", 0.31)
	if err := os.WriteFile(filepath.Join(dir, sheet.TemplateFile), []byte("address = 'https://quillmere.example/{serial}'\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	code, text, errs := sagitta(t, "", "label", "QM-1", recordtest.Number, "--data", dir, "-o", out)
	if names := filesIn(t, out); code != exitDone || !slices.Equal(names, []string{"QM-1-label.pdf", recordtest.Number + "-label.pdf"}) || !strings.Contains(text, filepath.Join(out, "QM-1-label.pdf")) {
		t.Fatalf("it ends with %d and leaves %q: %s%s", code, names, text, errs)
	}
	for args, want := range map[string]string{
		"QM-1 --size 62":                     "--size: found \"62\"; allowed: width and height in mm",
		"QM-1 --kind sticker":                "--kind: found \"sticker\"; allowed: set-up or traveller",
		"":                                   "NUMBER",
		"nobody":                             `neither a neck nor a batch has the number "nobody"`,
		"QM-1 --size 20x12":                  "the code on the label of QM-1 takes",
		"QM-1 --kind traveller --size 20x20": "the bars of QM-1 take",
	} {
		if code, _, errs := sagitta(t, "", append([]string{"label", "--data", dir, "-o", t.TempDir()}, strings.Fields(args)...)...); code == exitDone || !strings.Contains(errs, want) {
			t.Errorf("%s ends with %d: %s", args, code, errs)
		}
	}
	for _, tool := range []string{"pdftoppm", "zbarimg"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("SAGITTA_BROWSER") == "required" {
				t.Fatal(err)
			}
			t.Skip("no " + tool)
		}
	}
	for page, wants := range map[string][]string{
		filepath.Join(out, "QM-1-label.pdf"):               {"QM-1\nQM Bolt 648, ", "Relief: ", "+0.31", "https://quillmere.example/QM-1"},
		filepath.Join(out, recordtest.Number+"-label.pdf"): {"QR-Code:QM-1\n", "CODE-128:QM-1\n", "QR-Code:QM-2\n", "CODE-128:QM-2\n"},
	} {
		read := recordtest.Must(exec.CommandContext(t.Context(), "sh", "-c", `pdftoppm -r 300 -png "$0" "$0" && zbarimg -q "$0"*.png`, page).Output())(t)
		for _, want := range wants {
			if !strings.Contains(string(read), want) {
				t.Errorf("%s says %q, not %q", filepath.Base(page), read, want)
			}
		}
	}
}
