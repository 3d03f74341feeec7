//go:build unix

package record

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/inspect"
)

const (
	openerPath = "RECORD_TEST_OPEN" // the record that a child process opens
	openerHow  = "RECORD_TEST_HOW"
)

// openInChild opens a record in a process of its own, and says what came of it.
func openInChild(path string) {
	how := os.Getenv(openerHow)
	opt := Options{Station: "bench 2", ReadOnly: how != "write", AsItIs: true}
	if how == "as nobody" {
		if err := errors.Join(syscall.Setgroups(nil), syscall.Setgid(65534), syscall.Setuid(65534)); err != nil {
			fmt.Println("cannot be nobody:", err)
			return
		}
	}
	db, err := Open(path, opt)
	if err != nil {
		fmt.Println("refused:", err)
		return
	}
	if err := db.VerifyAudit(context.Background()); err != nil {
		fmt.Println("not whole:", err)
	}
	newest, err := db.Audit(context.Background(), 1)
	if err != nil || len(newest) == 0 {
		fmt.Println("no entry:", err)
		return
	}
	fmt.Println("newest entry", newest[0].Seq)
	if err := db.Close(); err != nil {
		fmt.Println("not closed:", err)
	}
}

// opened is what another process says of a record.
func opened(t *testing.T, path, how string) string {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), openerPath+"="+path, openerHow+"="+how)
	return string(must(cmd.Output())(t))
}

// says checks a sentence.
func says(t *testing.T, got string, want ...string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(got, w) {
			t.Errorf("%q does not say %q", got, w)
		}
	}
}

// copyOf copies a record's file, and its log where the ending asks for it.
func copyOf(t *testing.T, path, to string, endings ...string) string {
	t.Helper()
	for _, ending := range endings {
		content, err := os.ReadFile(path + ending)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err := errors.Join(err, os.WriteFile(to+ending, content, 0o640)); err != nil {
			t.Fatal(err)
		}
	}
	return to
}

// left is a record as a killed station leaves it, with readings in its log alone, and how many entries and readings there are.
func left(t *testing.T) (path string, s *shop) {
	t.Helper()
	s = newShop(t, serials(2)...)
	s.read(s.start("QM-2611-0001"), 1, 0.1)
	s.ok(s.Settle(s.ctx))
	must(s.AddNote(s.ctx, "Mara Quill", "the height gauge's foot is worn"))(t)
	return copyOf(t, s.path, filepath.Join(t.TempDir(), "record.db"), "", "-wal"), s
}

// What is there under a record's name and is none is refused by the station and by who reads, and left as it is.
func TestNoRecordIsRefusedAndLeftAsItIs(t *testing.T) {
	whole := newShop(t)
	whole.ok(whole.Close())
	record := must(os.ReadFile(whole.path))(t)
	foreign := func(change func(raw *sql.DB)) []byte {
		path := filepath.Join(t.TempDir(), "other.db")
		raw := must(sql.Open("sqlite", path))(t)
		change(raw)
		if err := raw.Close(); err != nil {
			t.Fatal(err)
		}
		return must(os.ReadFile(path))(t)
	}
	for name, c := range map[string]struct {
		content []byte
		kind    error
		says    string
	}{
		"empty":             {nil, ErrNotRecord, "it is empty"},
		"text":              {[]byte(strings.Repeat("fret heights ", 300)), ErrNotRecord, `it begins with "fret heights fre"`},
		"another database":  {foreign(func(raw *sql.DB) { must(raw.Exec(`CREATE TABLE t (x)`))(t) }), ErrNotRecord, "another program"},
		"with another mark": {foreign(func(raw *sql.DB) { must(raw.Exec(`PRAGMA application_id = 77`))(t) }), ErrNotRecord, "its mark is 77"},
		"an empty database": {foreign(func(raw *sql.DB) { must(raw.Exec(`PRAGMA user_version = 1`))(t) }), ErrNotRecord, ""},
		"cut in its head":   {record[:60], ErrCorrupt, "ends after 60 bytes"},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "record.db")
			if err := os.WriteFile(path, c.content, 0o640); err != nil {
				t.Fatal(err)
			}
			_, err := Open(path, Options{Station: "bench 1"})
			wantErr(t, err, c.kind, path, c.says, "left as it is", "sagitta restore")
			if _, err := Open(path, Options{ReadOnly: true}); err == nil {
				t.Error("it is read")
			}
			if after := must(os.ReadFile(path))(t); !bytes.Equal(after, c.content) {
				t.Error("it was changed")
			}
		})
	}
}

// A record cut behind its head opens or not as SQLite finds it; the file is never filled up.
func TestCutRecord(t *testing.T) {
	s := newShop(t, serials(30)...)
	s.ok(s.Close())
	record := must(os.ReadFile(s.path))(t)
	for _, n := range []int{100, 4096, 5000, len(record) / 2, len(record) - 4096} {
		path := filepath.Join(t.TempDir(), "record.db")
		if err := os.WriteFile(path, record[:n], 0o640); err != nil {
			t.Fatal(err)
		}
		db, err := Open(path, Options{Station: "bench 1"})
		if err == nil {
			err = errors.Join(db.VerifyAudit(s.ctx), db.Close())
		}
		if !errors.Is(err, ErrCorrupt) {
			t.Errorf("cut after %d bytes: %v", n, err)
		}
	}
}

// A new record is made only where no file is, and nothing in the folder tells of an earlier one.
func TestNoNewRecordInPlaceOfOneThatIsGone(t *testing.T) {
	path, _ := left(t)
	for name, gone := range map[string]func(dir string){
		"log left":          func(dir string) { copyOf(t, path, filepath.Join(dir, "record.db"), "-wal") },
		"lock left":         func(dir string) { closed(t, dir); remove(t, filepath.Join(dir, "record.db")) },
		"rescued copy left": func(dir string) { copyOf(t, path, filepath.Join(dir, "record-rescued-20261102-070000.db"), "") },
		"older schema left": func(dir string) { copyOf(t, path, filepath.Join(dir, "record-before-schema-14-20261102.db"), "") },
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			gone(dir)
			_, err := Open(filepath.Join(dir, "record.db"), Options{Station: "bench 1"})
			wantErr(t, err, ErrGone, "is left of it", "no new one is made")
			_, err = Open(filepath.Join(dir, "record.db"), Options{ReadOnly: true})
			wantErr(t, err, ErrNoRecord, "There was one")
			if _, err := os.Stat(filepath.Join(dir, "record.db")); err == nil {
				t.Error("one was made")
			}
		})
	}
	dir := t.TempDir() // killed while it made the record: that is no earlier one
	for _, name := range []string{"record.db.lock", "record.db.new", "record.db.new-journal"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o640); err != nil {
			t.Fatal(err)
		}
	}
	closed(t, dir)
}

// closed makes a record and closes it.
func closed(t *testing.T, dir string) {
	t.Helper()
	db := must(Open(filepath.Join(dir, "record.db"), Options{Station: "bench 1"}))(t)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

func remove(t *testing.T, path string) {
	t.Helper()
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
}

// Two processes: neither a removed lock nor a hard link lets a second station in, and one that reads may.
func TestOneStationWritesWhateverTheName(t *testing.T) {
	s := newShop(t, serials(1)...)
	n := must(s.Audit(s.ctx, 1))(t)[0].Seq
	link := filepath.Join(t.TempDir(), "other.db")
	if err := os.Link(s.path, link); err != nil {
		t.Fatal(err)
	}
	says(t, opened(t, s.path, "write"), "refused", ErrInUse.Error())
	says(t, opened(t, link, "write"), "refused", ErrInUse.Error(), "by another name or without its lock")
	remove(t, s.path+".lock")
	says(t, opened(t, s.path, "write"), "refused", ErrInUse.Error(), "by another name or without its lock")
	says(t, opened(t, s.path, "read"), fmt.Sprint("newest entry ", n))
	s.ok(s.Close())
	says(t, opened(t, s.path, "write"), fmt.Sprint("newest entry ", n))
}

// The record's file is deleted, replaced or written over while readings come: the station stops at once, says what happened and what
// to do, and what it had acknowledged is in the file that it wrote out, or was in the copies.
func TestFileTakenFromUnderTheStation(t *testing.T) {
	for name, c := range map[string]struct {
		take    func(path string)
		says    string
		rescued bool
	}{
		"deleted": {func(path string) { remove(t, path) }, "was deleted or moved away", true},
		"deleted with its log": {func(path string) {
			for _, part := range []string{"", "-wal", "-shm"} {
				remove(t, path+part)
			}
		}, "was deleted or moved away", true},
		"moved away": {func(path string) { _ = os.Rename(path, path+".old") }, "was deleted or moved away", true},
		"replaced": {func(path string) {
			_ = os.WriteFile(path+".other", make([]byte, 8192), 0o640)
			_ = os.Rename(path+".other", path)
		}, "was replaced by another", true},
		"replaced by its copy": {func(path string) {
			copyOf(t, path, path+".other", "")
			_ = os.Rename(path+".other", path)
		}, "was replaced by another", true},
		"emptied":        {func(path string) { _ = os.Truncate(path, 0) }, "was written over", false},
		"copied over":    {func(path string) { copyOf(t, otherRecord(t), path, "") }, "was written over", false},
		"an older state": {func(path string) { copyOf(t, path+".early", path, "") }, "was written over", false},
	} {
		t.Run(name, func(t *testing.T) {
			s := newShop(t, serials(1)...)
			in := s.start("QM-2611-0001")
			s.ok(s.Settle(s.ctx))
			copyOf(t, s.path, s.path+".early", "")
			s.ok(s.Settle(s.ctx)) // the same size, and another state
			var kept []string
			for fret := range 4 {
				kept = append(kept, s.read(in, 1+fret, 0.1).ID)
			}
			s.later()
			c.take(s.path)
			_, err := s.AppendReading(s.ctx, crown(in, 5, 0.1))
			wantErr(t, err, ErrTaken, c.says, "this was not recorded", "Nothing is recorded until")
			if batch.KindOf(err) != batch.Machine {
				t.Errorf("it is of kind %d", batch.KindOf(err))
			}
			_, err = s.AppendVerdict(s.ctx, verdictOf(in, inspect.Pass, 0.3, 0.3))
			wantErr(t, err, ErrTaken)
			wantErr(t, s.CloseBatch(s.ctx, "x", "QM-2611"), ErrTaken)
			if !c.rescued {
				says(t, s.Lost().Error(), "restore --replace")
				s.ok(s.Close())
				return
			}
			until(t, "it says where the rest is", func() bool { return strings.Contains(s.Lost().Error(), "All that was acknowledged before is in ") })
			rescued := regexp.MustCompile(`is in (\S+):`).FindStringSubmatch(s.Lost().Error())[1]
			s.ok(s.Close())
			db := must(Open(rescued, Options{Station: "bench 1"}))(t)
			defer func() { s.ok(db.Close()) }()
			s.ok(db.VerifyAudit(s.ctx))
			got := must(db.Readings(s.ctx, in.ID))(t)
			if len(got) != len(kept) {
				t.Fatalf("%d readings are there, %d were acknowledged", len(got), len(kept))
			}
			for i := range got {
				if got[i].ID != kept[i] {
					t.Errorf("reading %d is %s, acknowledged was %s", i+1, got[i].ID, kept[i])
				}
			}
		})
	}
}

// later waits until a file written now has a later time than the record's file: file systems count in ticks.
func (s *shop) later() {
	s.Helper()
	before := must(os.Stat(s.path))(s).ModTime()
	until(s.TB, "the file system's clock goes on", func() bool {
		probe := s.path + ".probe"
		s.ok(os.WriteFile(probe, nil, 0o640))
		return must(os.Stat(probe))(s).ModTime().After(before)
	})
}

func otherRecord(t *testing.T) string {
	t.Helper()
	s := newShop(t, serials(9)...)
	s.ok(s.Close())
	return s.path
}

// until waits for a condition.
func until(t testing.TB, what string, holds func() bool) {
	t.Helper()
	for range 6000 {
		if holds() {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("not in a minute: " + what)
}

// A file that was touched, or written over with what it held, is still the record.
func TestTouchedFileIsStillTheRecord(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	s.later()
	copyOf(t, s.path, s.path+".same", "")
	copyOf(t, s.path+".same", s.path, "")
	s.read(in, 1, 0.1)
	if err := os.Chtimes(s.path, time.Time{}, time.Now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	s.read(in, 2, 0.1)
	s.ok(s.Close())
}

// A copy from before a record was brought up to date is kept, whole and of the older schema; only so many are.
func TestCopyBeforeEachMigration(t *testing.T) {
	dir := t.TempDir()
	for i, name := range []string{"v14.db.gz", "v15.db.gz", "v16.db.gz", "v17.db.gz", "v18.db.gz"} {
		old := unpacked(t, filepath.Join("..", "..", "testdata", "record", name))
		path := filepath.Join(dir, "record.db")
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		copyOf(t, old, path, "")
		db := must(Open(path, Options{Station: "bench 1", Now: func() time.Time { return time.Date(2026, 11, 2+i, 7, 0, 0, 0, time.UTC) }}))(t)
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
	kept := must(filepath.Glob(filepath.Join(dir, "record-before-schema-*.db")))(t)
	if len(kept) != copiesBefore {
		t.Fatalf("kept are %q", kept)
	}
	newest := filepath.Join(dir, "record-before-schema-18-20261106-070000.db")
	db := must(Open(newest, Options{ReadOnly: true, AsItIs: true}))(t)
	defer func() { _ = db.Close() }()
	if has, _, err := db.schema(t.Context(), db.reader, "test"); has != 18 || err != nil {
		t.Errorf("its schema is %d, %v", has, err)
	}
	if err := db.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
}

// A record in a folder that may not be written to is verified, closed or as a killed station left it, and nothing is left behind.
func TestReadOnlyFolder(t *testing.T) {
	if os.Getuid() != 0 && runtime.GOOS != "linux" {
		t.Skip("needs a user to become")
	}
	killed, s := left(t)
	n := must(s.Audit(s.ctx, 1))(t)[0].Seq
	s.ok(s.Close())
	aside := t.TempDir()
	t.Setenv("TMPDIR", aside)
	if err := errors.Join(os.Chmod(aside, 0o777), os.Chmod(filepath.Dir(aside), 0o755)); err != nil {
		t.Fatal(err)
	}
	for name, path := range map[string]string{"killed": killed, "closed": s.path} {
		dir := filepath.Dir(path)
		for _, part := range []string{"-wal", "-shm"} {
			_ = os.Chmod(path+part, 0o444)
		}
		if err := errors.Join(os.Chmod(path, 0o444), os.Chmod(dir, 0o555), os.Chmod(filepath.Dir(dir), 0o755)); err != nil {
			t.Fatal(err)
		}
		before := must(os.ReadDir(dir))(t)
		how := "read"
		if os.Getuid() == 0 {
			how = "as nobody"
		}
		if got := opened(t, path, how); got != fmt.Sprintf("newest entry %d\n", n) {
			t.Errorf("%s: %s", name, got)
		}
		if after := must(os.ReadDir(dir))(t); len(after) != len(before) {
			t.Errorf("%s: the folder held %v and holds %v", name, before, after)
		}
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if left := must(filepath.Glob(filepath.Join(aside, "*")))(t); len(left) > 0 {
		t.Errorf("left are %q", left)
	}
}

// A schema whose number makes no sense is told as such.
func TestUnknownSchemaIsTold(t *testing.T) {
	for change, want := range map[string]string{
		`DROP TABLE goose_db_version`: "which schema it has cannot be told",
		`DELETE FROM goose_db_version; INSERT INTO goose_db_version VALUES (1,-3,1,'')`: "its schema is -3",
	} {
		s := newShop(t)
		s.ok(s.Close())
		raw := must(sql.Open("sqlite", s.path))(t)
		must(raw.Exec(change))(t)
		s.ok(raw.Close())
		for _, opt := range []Options{{Station: "bench 1"}, {ReadOnly: true}} {
			_, err := Open(s.path, opt)
			wantErr(t, err, ErrCorrupt, want, "this program knows 1 to ")
		}
	}
}

// A folder's name may hold the signs of a pattern: what is beside the record is found all the same.
func TestBesideARecordWhoseFolderHasABracket(t *testing.T) {
	path := filepath.Join(t.TempDir(), "necks [2026", "record.db")
	for _, name := range []string{"record-before-schema-14-20261102-070000.db", "record-before-schema-15-20261103-070000.db", "other.db"} {
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o750), os.WriteFile(filepath.Join(filepath.Dir(path), name), nil, 0o600)); err != nil {
			t.Fatal(err)
		}
	}
	if got := must(beside(path, beforeName))(t); len(got) != 2 || earlier(path) != got[0] {
		t.Errorf("beside the record: %q, left of it: %q", got, earlier(path))
	}
}
