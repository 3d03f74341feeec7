package copies

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/photograph"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
)

// pictured keeps a photograph of an instrument in a station's record and folder, and returns its file's name.
func pictured(t *testing.T, dir string, db *record.DB, pin, content string) string {
	t.Helper()
	sum := sha256.Sum256([]byte(content))
	digest := hex.EncodeToString(sum[:])
	name := filepath.Join(dir, filepath.FromSlash(photograph.Name(digest)))
	write(t, name, []byte(content))
	if err := db.EnterInstrument(t.Context(), "x", batch.Instrument{Serial: "2026-007"}); err != nil {
		t.Fatal(err)
	}
	if err := db.AddPhotographs(t.Context(), "x", "2026-007", []batch.Photograph{{Pin: pin, Digest: digest}}); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestCopyTellsWhichPhotographItLacks: a copy has every photograph that its record knows; where one is changed or missing the copy is made and
// taken all the same, and it, its drill and what brings it back say which.
func TestCopyTellsWhichPhotographItLacks(t *testing.T) {
	dir, db := station(t)
	seven, whole := pictured(t, dir, db, "fret 7", "of fret 7"), pictured(t, dir, db, "visit", "of all of it")
	out := t.TempDir()
	good := filepath.Join(out, "good.zip")
	if about := recordtest.Must(Write(t.Context(), db, good, making(dir)))(t); about.Lacks != nil {
		t.Errorf("it lacks %v", about.Lacks)
	}
	if p := recordtest.Must(Drill(t.Context(), good, nil, dir))(t); p.Lacks != nil {
		t.Errorf("it lacks %v", p.Lacks)
	}
	for i, c := range []struct {
		hurt func() error
		says string
	}{
		{func() error { return os.WriteFile(seven, []byte("of fret 8"), 0o640) }, "photographs/" + filepath.Base(seven) + " is not as it was kept (2026-007, fret 7)"},
		{func() error { return os.Remove(whole) }, "photographs/" + filepath.Base(whole) + " is missing (2026-007)"},
	} {
		if err := c.hurt(); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(out, strings.Repeat("hurt", i+1)+".zip")
		about := recordtest.Must(Write(t.Context(), db, path, making(dir)))(t)
		wants(t, about.Lacks, batch.Machine, "of the photographs that its record knows", c.says)
		_, err := Drill(t.Context(), path, nil, dir)
		wants(t, err, batch.Machine, "is whole, but of the photographs that its record knows", c.says)
		p, _, err := Restore(t.Context(), path, Restoring{Dir: filepath.Join(t.TempDir(), "shop"), Now: theDay})
		if err != nil {
			t.Fatal(err)
		}
		wants(t, p.Lacks, batch.Machine, c.says)
	}
	// What is whole in the folder is not replaced by what was damaged when the copy was made.
	write(t, seven, []byte("of fret 7"))
	later := pictured(t, dir, db, "string 1", "later than the copy")
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	hurt := Restoring{Dir: dir, Replace: true, Now: theDay}
	if _, _, err := Restore(t.Context(), filepath.Join(out, "hurt.zip"), hurt); err != nil {
		t.Fatal(err)
	}
	if got := string(read(t, seven)); got != "of fret 7" {
		t.Errorf("a photograph that was whole is now %q", got)
	}
	write(t, seven, []byte("damaged since"))
	if _, _, err := Restore(t.Context(), good, Restoring{Dir: dir, Replace: true, Now: theDay.Add(time.Hour)}); err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string]string{seven: "of fret 7", whole: "of all of it", later: "later than the copy"} {
		if got := read(t, name); !bytes.Equal(got, []byte(content)) {
			t.Errorf("brought back is %q, want %q", got, content)
		}
	}
}

// TestSalvageKeepsPhotographs: they lie where they lay, beside the record that is made of the damaged one.
func TestSalvageKeepsPhotographs(t *testing.T) {
	dir, db := station(t)
	name := pictured(t, dir, db, "fret 7", "of fret 7")
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	damaged := filepath.Join(t.TempDir(), "damaged.db")
	write(t, damaged, read(t, filepath.Join(dir, "record.db")))
	if _, _, err := Salvage(t.Context(), damaged, "bench 1", Restoring{Dir: dir, Replace: true, Now: theDay}); err != nil {
		t.Fatal(err)
	}
	if got := string(read(t, name)); got != "of fret 7" {
		t.Errorf("it is %q", got)
	}
	back := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"}))(t)
	defer func() { _ = back.Close() }()
	known := recordtest.Must(back.AllPhotographs(t.Context()))(t)
	if words, err := photograph.Missing(dir, known); len(known) != 1 || words != "" || err != nil {
		t.Errorf("known are %+v; %s, %v", known, words, err)
	}
}
