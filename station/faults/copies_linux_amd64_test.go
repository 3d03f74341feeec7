package faults

import (
	"bufio"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/station/copies"
)

// The power is cut while a copy is brought back: into an empty folder, and in the place of a record. What was there is there whole, in its
// place or aside; in its place is what was there or the copy, whole, or nothing, which is said, and then bringing it back once more does it.
func TestPowerCutWhileRestoring(t *testing.T) {
	made := newRecord(t)
	db := recordtest.Must(record.Open(made, record.Options{Station: "bench 1"}))(t)
	recordtest.Must(db.AddNote(t.Context(), manager, "this is in the copy"))(t)
	out := t.TempDir()
	recordtest.Must(copies.Write(t.Context(), db, filepath.Join(out, "copy.zip"), copies.Making{Dir: filepath.Dir(made), Station: "bench 1", Program: "faults", Now: time.Now}))(t)
	if err := errors.Join(db.Backup(t.Context(), filepath.Join(out, "copy.db")), db.Close()); err != nil {
		t.Fatal(err)
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	for n, name := range []string{"copy.zip", "copy.db"} {
		for _, replaces := range []bool{true, false} {
			t.Run(fmt.Sprintf("%s %v", name, replaces), func(t *testing.T) {
				path := newRecord(t)
				if !replaces {
					path = filepath.Join(t.TempDir(), "record.db")
				}
				cutRestoring(t, path, filepath.Join(out, name), replaces, rand.New(rand.NewPCG(seed, uint64(n))))
			})
		}
	}
}

func cutRestoring(t *testing.T, path, from string, replaces bool, rng *rand.Rand) {
	before := folderAt(t, filepath.Dir(path))
	var was *holding
	if replaces {
		was = new(recordtest.Must(holdingAside(t, path))(t))
	}
	ops, _, status := traced(t, path, 0, fault{}, childCopy+"="+from)
	if all := heard(t, ops); status != 0 || !all.closed || len(all.refused)+len(all.other) > 0 {
		t.Fatalf("the child ended with %v: %q %q", status, all.refused, all.other)
	}
	is := recordtest.Must(holdingAside(t, path))(t)
	again := 0
	for n := range max(4, *cuts/6) {
		cut, keep := moment(ops, rng), kept(rng.IntN(int(keptKinds)))
		if n == 0 { // the moment it was told that it is there
			cut, keep = len(ops), keptNone
		}
		where := afterCut(before, ops, cut, keep, rng).put(t)
		told := heard(t, ops[:cut]).closed
		done, err := restoredAt(t, where, from, was, is, told)
		if err != nil {
			t.Fatalf("cut %d, before operation %d of %d, kept %d, told %v: %v; left in %s", n, cut, len(ops), keep, told, err, filepath.Dir(where))
		}
		if !done {
			again++
		}
		if err := os.RemoveAll(filepath.Dir(where)); err != nil {
			t.Error(err)
		}
	}
	t.Logf("%d operations; after %d of %d cuts it was brought back once more", len(ops), again, max(4, *cuts/6))
}

// restoredAt looks at what a cut left, and brings the copy back once more where there is no record in its place, or the one before.
func restoredAt(t *testing.T, where, from string, was *holding, is holding, told bool) (done bool, err error) {
	now, err := openedAt(t, where)
	switch {
	case err == nil && is.differs(now) == "":
		done = true
	case err == nil && (was == nil || was.differs(now) != ""):
		return false, fmt.Errorf("in its place is neither what was there nor the copy: %s", is.differs(now))
	case told:
		return false, fmt.Errorf("it was told that it is there: %w", errors.Join(err, errors.New(is.differs(now))))
	}
	if !done {
		if _, _, err := copies.Restore(t.Context(), from, copies.Restoring{Dir: filepath.Dir(where), Station: "bench 1", Replace: true, Now: time.Now().AddDate(0, 0, 1)}); err != nil {
			return false, err
		}
		if now, err = openedAt(t, where); err != nil || is.differs(now) != "" {
			return false, fmt.Errorf("brought back once more: %w", errors.Join(err, errors.New(is.differs(now))))
		}
		left, err := filepath.Glob(filepath.Join(filepath.Dir(where), ".restore-*"))
		if err != nil || len(left) > 0 {
			return false, fmt.Errorf("left are %q, %v", left, err)
		}
	}
	if was == nil {
		return done, nil
	}
	aside, err := filepath.Glob(filepath.Join(filepath.Dir(where), "*", "record.db"))
	for _, path := range aside {
		if strings.HasPrefix(filepath.Base(filepath.Dir(path)), ".") {
			continue
		}
		if now, err := openedAt(t, path); err == nil && was.differs(now) == "" {
			return done, nil
		}
	}
	return done, fmt.Errorf("what was replaced is nowhere: %q, %v", aside, err)
}

// openedAt opens a record that must be there, verifies it, and reads what it holds.
func openedAt(t *testing.T, path string) (h holding, err error) {
	db, err := record.Open(path, record.Options{Station: "bench 1", Existing: true})
	if err != nil {
		return h, err
	}
	if err := errors.Join(db.VerifyAudit(t.Context()), db.Close()); err != nil {
		return h, err
	}
	return holdingAside(t, path)
}

// The power is cut while a station keeps its copies: every daily copy that has its name is whole, so is the one that follows, both hold
// what they were told to hold, and the next station goes on keeping them.
func TestPowerCutWhileKeeping(t *testing.T) {
	path := newKept(t)
	before := folderAt(t, filepath.Dir(path))
	const days = 4
	ops, _, status := traced(t, path, 0, fault{}, fmt.Sprint(childDays, "=", days))
	if all := heard(t, ops); status != 0 || !all.closed || len(all.kept) != days || len(all.refused)+len(all.other) > 0 {
		t.Fatalf("the child ended with %v: %v %q %q", status, all.kept, all.refused, all.other)
	}
	seed := uint64(time.Now().UnixNano())
	rng := rand.New(rand.NewPCG(seed, 0))
	t.Logf("%d operations, seed %d", len(ops), seed)
	for n := range max(6, *cuts/4) {
		cut, keep := moment(ops, rng), kept(rng.IntN(int(keptKinds)))
		if n == 0 {
			cut, keep = len(ops), keptNone
		}
		where := afterCut(before, ops, cut, keep, rng).put(t)
		if err := keptAt(t, where, heard(t, ops[:cut]).kept); err != nil {
			t.Fatalf("cut %d, before operation %d of %d, kept %d: %v; left in %s", n, cut, len(ops), keep, err, filepath.Dir(where))
		}
		if err := os.RemoveAll(filepath.Dir(where)); err != nil {
			t.Error(err)
		}
	}
}

// newKept is a new record with folders for its copies.
func newKept(t *testing.T) string {
	t.Helper()
	path := newRecord(t)
	for _, dir := range []string{"daily", "mirror"} {
		if err := errors.Join(os.MkdirAll(filepath.Join(filepath.Dir(path), dir), 0o750), os.WriteFile(filepath.Join(filepath.Dir(path), dir, "other.txt"), nil, 0o640)); err != nil {
			t.Fatal(err)
		}
	}
	return path
}

// Whoever brings a copy back, and stations that keep copies, are killed at random moments: it is as after a power cut.
func TestKilledWithCopies(t *testing.T) {
	seed := uint64(time.Now().UnixNano())
	rng := rand.New(rand.NewPCG(seed, 0))
	t.Logf("seed %d", seed)
	made := newRecord(t)
	db := recordtest.Must(record.Open(made, record.Options{Station: "bench 1"}))(t)
	from := filepath.Join(t.TempDir(), "copy.zip")
	recordtest.Must(copies.Write(t.Context(), db, from, copies.Making{Dir: filepath.Dir(made), Station: "bench 1", Program: "faults", Now: time.Now}))(t)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	there := t.TempDir()
	if _, _, err := copies.Restore(t.Context(), from, copies.Restoring{Dir: there, Now: time.Now()}); err != nil {
		t.Fatal(err)
	}
	is := recordtest.Must(holdingAside(t, filepath.Join(there, "record.db")))(t)
	finished := 0
	for n := range max(3, *kills/4) {
		path := newRecord(t)
		was := recordtest.Must(holdingAside(t, path))(t)
		got := killedAfter(t, rng, child(path, 0, childCopy+"="+from))
		if _, err := restoredAt(t, path, from, &was, is, got.closed); err != nil || len(got.refused) > 0 {
			t.Fatalf("kill %d, bringing a copy back: %v %q", n, err, got.refused)
		}
		path = newKept(t)
		kept := killedAfter(t, rng, child(path, 0, fmt.Sprint(childDays, "=", 6)))
		if err := keptAt(t, path, kept.kept); err != nil || len(kept.refused) > 0 {
			t.Fatalf("kill %d, keeping copies: %v %q", n, err, kept.refused)
		}
		for _, g := range []said{got, kept} {
			if g.closed {
				finished++
			}
		}
	}
	t.Logf("%d of %d had finished", finished, 2*max(3, *kills/4))
}

// killedAfter lets a child work and kills it after a while.
func killedAfter(t *testing.T, rng *rand.Rand, cmd *exec.Cmd) (got said) {
	t.Helper()
	out := recordtest.Must(cmd.StdoutPipe())(t)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.AfterFunc(time.Duration(rng.Int64N(int64(1200*time.Millisecond))), func() { _ = cmd.Process.Kill() })
	for lines := bufio.NewReader(out); ; {
		text, err := lines.ReadString('\n')
		if err != nil { // a line cut short was not said
			break
		}
		if err := got.line(strings.TrimSuffix(text, "\n")); err != nil {
			t.Fatal(err)
		}
	}
	_ = cmd.Wait() // killed, or done
	return got
}

func keptAt(t *testing.T, where string, told []int64) error {
	dir := filepath.Dir(where)
	look := func(least int64) error {
		daily, err := filepath.Glob(filepath.Join(dir, "daily", "sagitta-*.zip"))
		newest := int64(0)
		for _, file := range daily {
			p, bad := copies.Prove(t.Context(), file, nil, t.TempDir())
			err, newest = errors.Join(err, bad), max(newest, p.Entries)
		}
		follows := int64(0)
		if file := filepath.Join(dir, "mirror", "sagitta-bench-1.db"); err == nil {
			if _, missing := os.Stat(file); missing == nil {
				var p copies.Proven
				p, err = copies.Prove(t.Context(), file, nil, t.TempDir())
				follows = p.Entries
			}
		}
		if err == nil && min(newest, follows) < least {
			err = fmt.Errorf("the newest daily copy ends with entry %d, the one that follows with %d; told was %d", newest, follows, least)
		}
		return err
	}
	least := int64(0)
	if len(told) > 0 {
		least = told[len(told)-1]
	}
	if err := look(least); err != nil {
		return err
	}
	db, err := record.Open(where, record.Options{Station: "bench 1", Existing: true})
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	later := theDay.AddDate(0, 1, 0)
	k := keeper(where, db, func() time.Time { return later })
	k.Look(t.Context())
	for _, due := range k.Due(later, 1<<40) {
		err = errors.Join(err, fmt.Errorf("the next station's copies: %s: %s", due.What, due.Says))
	}
	last, again := db.Audit(t.Context(), 1)
	if err := errors.Join(err, again); err != nil {
		return err
	}
	if err := look(last[0].Seq); err != nil {
		return fmt.Errorf("the next station: %w", err)
	}
	left, err := filepath.Glob(filepath.Join(dir, "*", ".*.part"))
	if err == nil && len(left) > 0 {
		err = fmt.Errorf("left are %q", left)
	}
	return err
}
