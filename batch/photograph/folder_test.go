package photograph

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
)

func kept(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, filepath.Base(path))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

func invented(t *testing.T) Photograph {
	t.Helper()
	var file bytes.Buffer
	if err := png.Encode(&file, seen(96, 64)); err != nil {
		t.Fatal(err)
	}
	p, _ := take(t, file.Bytes())
	return p
}

// TestKeep: the file is on the disk when the record notes it, under its digest and for the station's group alone, and is read back as it was.
func TestKeep(t *testing.T) {
	dir, p := t.TempDir(), invented(t)
	for _, time := range []string{"first", "second"} {
		noted := false
		err := Keep(dir, []Photograph{p}, func() error {
			file, err := Read(dir, p.Digest)
			noted = err == nil && bytes.Equal(file, p.JPEG)
			return err
		})
		if err != nil || !noted {
			t.Fatalf("%s time: noted %v, %v", time, noted, err)
		}
	}
	if names := kept(t, dir); len(names) != 1 || names[0] != p.Digest+".jpg" {
		t.Errorf("kept is %v", names)
	}
	info, err := os.Stat(filepath.Join(dir, "photographs", p.Digest+".jpg"))
	if err != nil || info.Mode().Perm() != 0o640 {
		t.Errorf("%v, %v", info.Mode(), err)
	}
}

// TestNothingHalfKept: what the record did not note is not kept, unless the record knew it already; what could not be written is not noted.
func TestNothingHalfKept(t *testing.T) {
	dir, p := t.TempDir(), invented(t)
	planted := batch.Conflict.Errorf("planted")
	if err := Keep(dir, []Photograph{p}, func() error { return planted }); !errors.Is(err, planted) {
		t.Fatal(err)
	}
	if names := kept(t, dir); names != nil {
		t.Errorf("kept is %v", names)
	}
	if err := Keep(dir, []Photograph{p}, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	if err := Keep(dir, []Photograph{p}, func() error { return planted }); !errors.Is(err, planted) {
		t.Fatal(err)
	}
	if _, err := Read(dir, p.Digest); err != nil {
		t.Errorf("what the record knew is gone: %v", err)
	}

	blocked := t.TempDir()
	if err := os.WriteFile(filepath.Join(blocked, Folder), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	err := Keep(blocked, []Photograph{p}, func() error { t.Error("noted without its file"); return nil })
	if err == nil || batch.KindOf(err) != batch.Machine || !strings.Contains(err.Error(), "this was not recorded") {
		t.Errorf("%v", err)
	}
}

// TestAllOrNone: of two of which one cannot be written none is kept, and none is noted.
func TestAllOrNone(t *testing.T) {
	dir, p := t.TempDir(), invented(t)
	other, err := smaller(p.JPEG, 48)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Join(dir, Folder, other.Digest+".jpg", "in the way"), 0o750); err != nil {
		t.Fatal(err)
	}
	err = Keep(dir, []Photograph{p, other}, func() error { t.Error("noted"); return nil })
	if err == nil || batch.KindOf(err) != batch.Machine {
		t.Errorf("%v", err)
	}
	if names := kept(t, dir); names != nil {
		t.Errorf("kept is %v", names)
	}
}

// TestSmall: a photograph that is kept is made smaller for a page, and one that is not as it was kept is not shown.
func TestSmall(t *testing.T) {
	dir, p := t.TempDir(), invented(t)
	if err := Keep(dir, []Photograph{p}, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	small, err := Small(dir, p.Digest, 48)
	if err != nil {
		t.Fatal(err)
	}
	picture, err := jpeg.Decode(bytes.NewReader(small.JPEG))
	if err != nil || small.Width != 48 || small.Height != 32 || picture.Bounds() != image.Rect(0, 0, 48, 32) {
		t.Fatalf("%d x %d, %v", small.Width, small.Height, err)
	}
	upright(t, picture)
	if err := os.Truncate(filepath.Join(dir, Folder, p.Digest+".jpg"), 100); err != nil {
		t.Fatal(err)
	}
	if _, err := Small(dir, p.Digest, 48); err == nil || !strings.Contains(err.Error(), "is not as it was kept") {
		t.Errorf("of half a file: %v", err)
	}
}

// TestReadTellsWhichIsHurt: a file that is missing or that was changed by one bit is named, and is not given; keeping the photograph again mends it.
func TestReadTellsWhichIsHurt(t *testing.T) {
	dir, p := t.TempDir(), invented(t)
	note := func() error { return nil }
	if err := Keep(dir, []Photograph{p}, note); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, Folder, p.Digest+".jpg")
	changed := bytes.Clone(p.JPEG)
	changed[len(changed)/2] ^= 1
	for _, c := range []struct {
		hurt func() error
		says string
	}{
		{func() error { return os.WriteFile(name, changed, 0o640) }, "photographs/" + p.Digest + ".jpg is not as it was kept"},
		{func() error { return os.Remove(name) }, "photographs/" + p.Digest + ".jpg is missing in the record's folder"},
	} {
		if err := c.hurt(); err != nil {
			t.Fatal(err)
		}
		file, err := Read(dir, p.Digest)
		if file != nil || batch.KindOf(err) != batch.Machine || err == nil || !strings.Contains(filepath.ToSlash(err.Error()), c.says) {
			t.Errorf("%d bytes, %v, want %q", len(file), err, c.says)
		}
		if err := Keep(dir, []Photograph{p}, note); err != nil {
			t.Fatal(err)
		}
		if file, err := Read(dir, p.Digest); err != nil || !bytes.Equal(file, p.JPEG) {
			t.Errorf("kept again: %v", err)
		}
	}
}

// TestReadTakesDigestsAlone: nothing but a digest leads to a file.
func TestReadTakesDigestsAlone(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "secret.jpg"), []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"", "../secret", "..", strings.Repeat("0", 63), strings.Repeat("z", 64), strings.Repeat("0", 64) + "/../../secret"} {
		if file, err := Read(dir, name); err == nil || file != nil || batch.KindOf(err) != batch.Absent {
			t.Errorf("%q: %q, %v", name, file, err)
		}
	}
}

// TestMissing: of the photographs that a record knows those are named whose files are missing or changed, each once; of many the first.
func TestMissing(t *testing.T) {
	dir, p := t.TempDir(), invented(t)
	if err := Keep(dir, []Photograph{p}, func() error { return nil }); err != nil {
		t.Fatal(err)
	}
	gone := strings.Repeat("0", 64)
	of := func(digests ...string) (known []batch.Photograph) {
		for _, d := range digests {
			known = append(known, batch.Photograph{Serial: "2026-007", Pin: "fret 7", Digest: d}, batch.Photograph{Serial: "2026-008", Pin: "visit", Digest: d})
		}
		return known
	}
	says := func(want string, digests ...string) {
		t.Helper()
		if words, err := Missing(dir, of(digests...)); err != nil || words != want {
			t.Errorf("%q, %v, want %q", words, err, want)
		}
	}
	says("")
	says("", p.Digest)
	says(Name(gone)+" is missing (2026-007, fret 7)", p.Digest, gone)
	if err := os.WriteFile(filepath.Join(dir, Folder, p.Digest+".jpg"), p.JPEG[:len(p.JPEG)-1], 0o640); err != nil {
		t.Fatal(err)
	}
	says(Name(p.Digest)+" is not as it was kept (2026-007, fret 7); "+Name(gone)+" is missing (2026-007, fret 7)", p.Digest, gone)
	var many []string
	for i := range 13 {
		many = append(many, strings.Repeat(string(rune('a'+i)), 64))
	}
	if words, err := Missing(dir, of(many...)); err != nil || strings.Count(words, "is missing") != 10 || !strings.HasSuffix(words, "; and so with 3 more") {
		t.Errorf("of 13: %q, %v", words, err)
	}
}
