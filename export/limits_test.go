package export

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/tell"
)

// TestRowLimit: readings continue on further sheets, each with its head, filter and print titles, and none is lost.
func TestRowLimit(t *testing.T) {
	s := newShop(8)
	opt := options("mm")
	opt.rowLimit = 151
	f := open(t, made(t, s, opt))
	sheets := f.GetSheetList()
	want := []string{"Summary", "Necks", "Readings", "Readings 2", "Readings 3", "Rework", "Gauges", "First relief"}
	if n := len(s.readings); n <= 300 || n > 450 {
		t.Fatalf("%d readings do not make three sheets of 150", n)
	}
	if !slices.Equal(sheets, want) {
		t.Fatalf("sheets %v, want %v", sheets, want)
	}
	var first []string
	next := 0
	for _, sheet := range sheets[2:5] {
		rows, err := f.GetRows(sheet)
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) > opt.rowLimit {
			t.Errorf("%s has %d rows, the limit is %d", sheet, len(rows), opt.rowLimit)
		}
		if first == nil {
			first = rows[0]
		}
		if !slices.Equal(rows[0], first) {
			t.Errorf("%s has other heads: %v", sheet, rows[0])
		}
		for _, row := range rows[1:] {
			if r := s.readings[next]; row[readSerial] != r.Serial || row[readPoint] != tell.Point(r.Point) {
				t.Fatalf("%s: reading %d is %v, want %s %s", sheet, next+1, row[:readPoint+1], r.Serial, tell.Point(r.Point))
			}
			next++
		}
	}
	if next != len(s.readings) {
		t.Errorf("%d readings written, want %d", next, len(s.readings))
	}
	opt.rowLimit = 6
	err := Workbook(context.Background(), io.Discard, s, "QM-2611", opt)
	if err == nil || !strings.Contains(err.Error(), "sheet Necks") || !strings.Contains(err.Error(), "allowed are 5") {
		t.Errorf("too many necks for a sheet give %v", err)
	}
}

// stopping cancels a context after so many bytes, and notes how much comes at once.
type stopping struct {
	after, written, most int
	stop                 context.CancelFunc
}

func (s *stopping) Write(p []byte) (int, error) {
	s.written += len(p)
	s.most = max(s.most, len(p))
	if s.stop != nil && s.written >= s.after {
		s.stop()
	}
	return len(p), nil
}

// TestCancelled: a context that ends stops the work before, between rows and while the archive is written.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := Workbook(ctx, io.Discard, newShop(3), "QM-2611", options("mm")); !errors.Is(err, context.Canceled) {
		t.Errorf("before: %v", err)
	}
	ctx, cancel = context.WithCancel(context.Background())
	opt := options("mm")
	opt.Progress = func(done, _ int) {
		if done == 12 {
			cancel()
		}
		if done > 12 {
			t.Errorf("neck %d is written after the end", done)
		}
	}
	var w bytes.Buffer
	if err := Workbook(ctx, &w, newShop(30), "QM-2611", opt); !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "sheet Necks") {
		t.Errorf("between rows: %v", err)
	}
	if w.Len() > 0 {
		t.Errorf("%d bytes were written before the sheets were whole", w.Len())
	}
	ctx, cancel = context.WithCancel(context.Background())
	s := &stopping{after: 20000, stop: cancel}
	if err := Workbook(ctx, s, newShop(100), "QM-2611", options("mm")); !errors.Is(err, context.Canceled) {
		t.Errorf("while the archive is written: %v", err)
	}
	if s.written > 40000 {
		t.Errorf("%d bytes were written though the context ended at %d", s.written, s.after)
	}
}

// TestStreamed: large sheets lie in temporary files while they are made, which are gone afterwards, also after a failure;
// the archive comes in small pieces.
func TestStreamed(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	files := func() int {
		found, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		return len(found)
	}
	shop, most := newShop(30), 0
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range shop.readings { // long frames, for more than the 16 MiB that the library keeps in memory
		raw := make([]byte, 4500)
		for j := range raw {
			raw[j] = byte('0' + rng.IntN(70))
		}
		shop.readings[i].Raw = raw
	}
	opt := options("mm")
	opt.Progress = func(int, int) { most = max(most, files()) }
	w := &stopping{}
	if err := Workbook(context.Background(), w, shop, "QM-2611", opt); err != nil {
		t.Fatal(err)
	}
	if most == 0 {
		t.Errorf("no temporary file for %d readings", len(shop.readings))
	}
	if n := files(); n != 0 {
		t.Errorf("%d temporary files are left", n)
	}
	if w.most > 1<<16 {
		t.Errorf("the archive comes in pieces of up to %d bytes of %d: it was gathered in memory", w.most, w.written)
	}
	shop.failReading = len(shop.readings) - 1
	if err := Workbook(context.Background(), io.Discard, shop, "QM-2611", opt); !errors.Is(err, errTorn) {
		t.Errorf("error %v", err)
	}
	if n := files(); n != 0 {
		t.Errorf("%d temporary files are left after a failure", n)
	}
}

// folder lists a folder's names.
func folder(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// TestSourceFails: an error of the source names sheet and place, and leaves no file, or the one from before.
func TestSourceFails(t *testing.T) {
	for _, c := range []struct {
		neck, reading int
		where         string
	}{{12, 0, "sheet Necks: after 12 necks"}, {0, 500, "sheet Readings: after 500 readings"}} {
		dir := t.TempDir()
		path := filepath.Join(dir, "QM-2611.xlsx")
		write := func(src *shop) error {
			return WriteFile(path, func(w io.Writer) error {
				return Workbook(context.Background(), w, src, "QM-2611", options("mm"))
			})
		}
		torn := newShop(30)
		torn.failNeck, torn.failReading = c.neck, c.reading
		err := write(torn)
		if !errors.Is(err, errTorn) || !strings.Contains(err.Error(), c.where) || !strings.Contains(err.Error(), path) {
			t.Errorf("error %v, want %s in it", err, c.where)
		}
		if names := folder(t, dir); len(names) != 0 {
			t.Errorf("left in the folder: %v", names)
		}
		if err := write(newShop(30)); err != nil {
			t.Fatal(err)
		}
		before, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		open(t, before)
		if err := write(torn); !errors.Is(err, errTorn) {
			t.Errorf("error %v", err)
		}
		after, err := os.ReadFile(path)
		if err != nil || !bytes.Equal(before, after) {
			t.Errorf("the file from before was touched: %v", err)
		}
		if names := folder(t, dir); len(names) != 1 {
			t.Errorf("left in the folder: %v", names)
		}
	}
}

// full is a writer on a full disk.
type full struct{ room int }

var errFull = errors.New("no space left on device")

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, errFull
	}
	return len(p), nil
}

// TestWriterFails: whatever the byte at which the disk is full, the error is told.
func TestWriterFails(t *testing.T) {
	s := newShop(5)
	whole := &stopping{}
	if err := Workbook(context.Background(), whole, s, "QM-2611", options("mm")); err != nil {
		t.Fatal(err)
	}
	for _, share := range []float64{0, 0.1, 0.5, 0.9, 0.99} {
		room := int(share * float64(whole.written))
		if err := Workbook(context.Background(), &full{room}, s, "QM-2611", options("mm")); !errors.Is(err, errFull) {
			t.Errorf("full after %d of %d bytes: %v", room, whole.written, err)
		}
	}
}

// TestWriteFile: whole content, ordinary permissions, errors that name the path.
func TestWriteFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	hello := func(text string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
	}
	for _, text := range []string{"first", "second, longer", "3"} {
		if err := WriteFile(path, hello(text)); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != text {
			t.Errorf("file holds %q, %v, want %q", got, err, text)
		}
	}
	plain := filepath.Join(dir, "plain.txt")
	if err := os.WriteFile(plain, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	mine, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	usual, err := os.Stat(plain)
	if err != nil {
		t.Fatal(err)
	}
	if mine.Mode() != usual.Mode() {
		t.Errorf("permissions %v, a new file here gets %v", mine.Mode(), usual.Mode())
	}
	missing := filepath.Join(dir, "none", "a.txt")
	if err := WriteFile(missing, hello("x")); batch.KindOf(err) != batch.Absent || !strings.HasSuffix(err.Error(), missing+": the folder "+filepath.Dir(missing)+" does not exist; make it or name another") {
		t.Errorf("a missing folder gives %v", err)
	}
	if err := os.Mkdir(filepath.Join(dir, "folder"), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := WriteFile(filepath.Join(dir, "folder"), hello("x")); batch.KindOf(err) != batch.Conflict || !strings.HasSuffix(err.Error(), "it is a folder; name a file in it") {
		t.Errorf("a file onto a folder gives %v", err)
	}
	if names := folder(t, dir); !slices.Equal(names, []string{"a.txt", "folder", "plain.txt"}) {
		t.Errorf("left in the folder: %v", names)
	}
}
