package sheet

import (
	"bytes"
	"os/exec"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch"
	"sagitta/batch/anchor"
)

// checkpoint is one that a station with a long name signed.
func checkpoint(t *testing.T) *anchor.Checkpoint {
	t.Helper()
	private, err := anchor.NewKey("a bench whose name is rather long & odd")
	if err != nil {
		t.Fatal(err)
	}
	key, err := anchor.ReadKey(private)
	if err != nil {
		t.Fatal(err)
	}
	c, err := key.Sign(1234567, tlog.RecordHash([]byte("x")), day)
	if err != nil {
		t.Fatal(err)
	}
	return &c
}

// The newest checkpoint is on the sheet: found in both files as it was signed, copied out of the page, and read from the QR code on paper.
func TestSheetCarriesTheCheckpoint(t *testing.T) {
	p := bolt(t)
	p.attempt(batch.Finished, 0.3)
	p.anchor = checkpoint(t)
	s := p.sheet(t, House())
	holds(t, s, []string{s.Words.Checkpoint, p.anchor.Root.String(), "key " + p.anchor.Key}, nil)
	var page, pdf bytes.Buffer
	if err := HTML(&page, s); err != nil {
		t.Fatal(err)
	}
	if err := PDF(&pdf, s); err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"html": page.Bytes(), "pdf": pdf.Bytes()}
	if tool := reader(t, "pdftotext"); tool != "" {
		cmd := exec.Command(tool, "-", "-")
		cmd.Stdin = bytes.NewReader(pdf.Bytes())
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		files["copied out of the page"] = out
	}
	for name, file := range files {
		all, err := anchor.Find(bytes.NewReader(file), int64(len(file)))
		if err != nil || len(all) != 1 || all[0] != *p.anchor {
			t.Errorf("%s: found %+v, %v; want %+v", name, all, err, *p.anchor)
		}
	}
	if draws, reads := reader(t, "pdftoppm"), reader(t, "zbarimg"); draws != "" && reads != "" {
		cmd := exec.Command(draws, "-r", "300", "-png", "-")
		cmd.Stdin = bytes.NewReader(pdf.Bytes())
		picture, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		cmd = exec.Command(reads, "-q", "--raw", "-")
		cmd.Stdin = bytes.NewReader(picture)
		read, err := cmd.Output()
		if err != nil || !strings.Contains(string(read), p.anchor.Note) {
			t.Errorf("the code on paper says %q, %v; want %q", read, err, p.anchor.Note)
		}
	}
}
