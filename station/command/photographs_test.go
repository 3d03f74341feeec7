package command

import (
	"bytes"
	"image"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
)

// TestPhotographsAreVerifiedAndComeBack: verify, backup, restore and its drill say of photographs what is so, of each that is missing or changed by its name.
func TestPhotographsAreVerifiedAndComeBack(t *testing.T) {
	dir := t.TempDir()
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 2"}))(t)
	if err := db.EnterInstrument(t.Context(), theManager, batch.Instrument{Serial: "2026-007"}); err != nil {
		t.Fatal(err)
	}
	names, one := []string(nil), filepath.Join(t.TempDir(), "one.db")
	for i, pin := range []string{"fret 7", "string 3"} {
		var file bytes.Buffer
		if err := png.Encode(&file, image.NewGray(image.Rect(0, 0, 40, 30+i))); err != nil {
			t.Fatal(err)
		}
		p := recordtest.Must(photograph.Take(file.Bytes()))(t)
		err := photograph.Keep(dir, []photograph.Photograph{p}, func() error {
			return db.AddPhotographs(t.Context(), theManager, "2026-007", []batch.Photograph{{Pin: pin, Digest: p.Digest}})
		})
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, photograph.Name(p.Digest))
		if i == 0 {
			if err := db.Backup(t.Context(), one); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	out := t.TempDir()
	good, alone, hurt := filepath.Join(out, "good.zip"), filepath.Join(out, "alone.db"), filepath.Join(out, "hurt.zip")
	runs := func(code int, says string, args ...string) {
		t.Helper()
		got, printed, errs := sagitta(t, "", args...)
		if got != code || !strings.Contains(printed+errs, says) {
			t.Errorf("%q ends with %d, want %d, and does not say %q: %s%s", args, got, code, says, printed, errs)
		}
	}
	runs(exitDone, "2 photographs are there, each as it was kept.", "verify", "--data", dir)
	runs(exitDone, good, "backup", good, "--data", dir)
	runs(exitDone, alone, "backup", alone, "--data", dir)
	runs(exitDone, "It knows 1 photograph, which is not looked at: it lies in the folder photographs of its station and of copies (.zip).", "verify", "--data", one)
	runs(exitDone, "It knows 2 photographs, which are not looked at: they lie in the folder photographs of its station and of copies (.zip).", "verify", "--data", alone)
	runs(exitDone, "can be restored", "restore", "--drill", good, "--data", dir)

	if err := os.Remove(filepath.Join(dir, filepath.FromSlash(names[0]))); err != nil {
		t.Fatal(err)
	}
	lacks := names[0] + " is missing (2026-007, fret 7)"
	runs(exitFailed, "of the photographs that the record knows "+lacks+"; put such files back from the folder photographs of a copy (.zip) into that of "+dir, "verify", "--data", dir)
	runs(exitFailed, "the copy "+hurt+" is made and whole, but of the photographs that its record knows "+lacks, "backup", hurt, "--data", dir)
	runs(exitFailed, "is whole, but of the photographs that its record knows "+lacks, "restore", "--drill", hurt, "--data", dir)
	runs(exitFailed, lacks, "restore", hurt, "--data", filepath.Join(out, "shop"))
	runs(exitFailed, names[1]+" is missing (2026-007, string 3)", "restore", alone, "--data", filepath.Join(out, "other"))
	runs(exitDone, "2 photographs are there, each as it was kept.", "restore", good, "--data", dir, "--replace")
	runs(exitDone, "2 photographs are there, each as it was kept.", "verify", "--data", dir)
}
