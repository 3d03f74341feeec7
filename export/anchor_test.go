package export

import (
	"bytes"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch/anchor"
	"sagitta/batch/tell"
)

// The newest checkpoint is on the Summary as it was signed, as QR code, and in what the file says of itself; any of these is enough to find it.
func TestWorkbookCarriesTheCheckpoint(t *testing.T) {
	private, err := anchor.NewKey("bench 1")
	if err != nil {
		t.Fatal(err)
	}
	key, err := anchor.ReadKey(private)
	if err != nil {
		t.Fatal(err)
	}
	c, err := key.Sign(455, tlog.RecordHash([]byte("x")), opened)
	if err != nil {
		t.Fatal(err)
	}
	s := newShop(3)
	s.anchor = &c
	var out bytes.Buffer
	if err := Workbook(t.Context(), &out, s, s.batch.Number, Options{Station: "bench 1", Now: opened}); err != nil {
		t.Fatal(err)
	}
	found, err := anchor.Find(bytes.NewReader(out.Bytes()), int64(out.Len()))
	if err != nil || len(found) != 1 || found[0] != c {
		t.Errorf("found %+v, %v; want %+v", found, err, c)
	}
	f := open(t, out.Bytes())
	props, err := f.GetDocProps()
	if err != nil || props.Description != c.Note {
		t.Errorf("the file says of itself %q, %v", props.Description, err)
	}
	at, err := f.SearchSheet("Summary", c.Note)
	if err != nil || len(at) != 1 {
		t.Fatalf("the checkpoint is in %q, %v", at, err)
	}
	if told, err := f.SearchSheet("Summary", tell.AnchorCarried); err != nil || len(told) != 1 {
		t.Errorf("what it is for stands in %q, %v", told, err)
	}
	pictures, err := f.GetPictures("Summary", "A"+at[0][1:])
	if err != nil || len(pictures) != 1 {
		t.Fatalf("%d codes beside it, %v", len(pictures), err)
	}
	if reads, err := exec.LookPath("zbarimg"); err == nil {
		cmd := exec.Command(reads, "-q", "--raw", "-")
		cmd.Stdin = bytes.NewReader(pictures[0].File)
		if read, err := cmd.Output(); err != nil || !strings.Contains(string(read), c.Note) {
			t.Errorf("the code says %q, %v; want %q", read, err, c.Note)
		}
	}

	s.anchor = nil
	out.Reset()
	if err := Workbook(t.Context(), &out, s, s.batch.Number, Options{Station: "bench 1", Now: opened}); err != nil {
		t.Fatal(err)
	}
	if rows, err := open(t, out.Bytes()).GetRows("Summary"); err != nil || slices.ContainsFunc(rows, func(row []string) bool { return len(row) > 0 && row[0] == "Checkpoint of the record" }) {
		t.Errorf("a record that nobody signed has a checkpoint, or: %v", err)
	}
}
