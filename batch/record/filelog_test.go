//go:build unix

package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/inspect"
)

// A killed station's record goes on; a copy of its file alone, or without the log that belongs to it, is refused, and what is missing
// is named.
func TestLogThatIsLostIsToldFromAKill(t *testing.T) {
	path, s := left(t)
	other, _ := left(t)
	n := must(s.Audit(s.ctx, 1))(t)[0].Seq
	if got := opened(t, path, "read"); got != fmt.Sprintf("newest entry %d\n", n) {
		t.Errorf("as it was left it reads %q, want entry %d", got, n)
	}
	for name, c := range map[string]struct {
		from    string
		parts   []string
		kind    error
		missing string
	}{
		"the file alone":           {path, []string{""}, ErrLogLost, fmt.Sprintf("the newest entry of the trail that is here is %d (", n-1)},
		"with another record's":    {path, []string{""}, ErrOtherLog, "together they would be neither"},
		"closed, with an old log":  {"", nil, ErrOtherLog, "Move record.db-wal away"},
		"with a log that was zero": {path, []string{""}, ErrLogLost, "is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			to := filepath.Join(t.TempDir(), "record.db")
			switch name {
			case "with another record's":
				copyOf(t, other, to, "-wal")
			case "closed, with an old log":
				s.ok(s.Backup(s.ctx, to))
				copyOf(t, path, to, "-wal")
			case "with a log that was zero":
				if err := os.WriteFile(to+"-wal", make([]byte, 1<<16), 0o640); err != nil {
					t.Fatal(err)
				}
			}
			copyOf(t, c.from, to, c.parts...)
			_, err := Open(to, Options{Station: "bench 1"})
			wantErr(t, err, c.kind, c.missing)
			if name == "the file alone" {
				_, err = Open(to, Options{ReadOnly: true, AsItIs: true})
				wantErr(t, err, c.kind, c.missing)
			}
		})
	}
	for range 3 { // killed and opened again and again, it goes on
		db := must(Open(path, Options{Station: "bench 1"}))(t)
		path = copyOf(t, path, filepath.Join(t.TempDir(), "record.db"), "", "-wal")
		if got := must(db.Audit(s.ctx, 1))(t)[0].Seq; got != n {
			t.Errorf("entry %d is the newest, want %d", got, n)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A record is copied as a killed station leaves it at every step of being opened, written to, settled and closed: each time it opens
// again with all that was acknowledged, and is never said to lack its log.
func TestEveryMomentOfAKillIsNoLostLog(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	readings := 0
	moment := func(what string) {
		t.Helper()
		path := copyOf(t, s.path, filepath.Join(t.TempDir(), "record.db"), "", "-wal")
		db, err := Open(path, Options{Station: "bench 1"})
		if err != nil {
			t.Errorf("killed %s: %v", what, err)
			return
		}
		if got := must(db.Readings(s.ctx, in.ID))(t); len(got) != readings {
			t.Errorf("killed %s: %d readings, want %d", what, len(got), readings)
		}
		if err := errors.Join(db.VerifyAudit(s.ctx), db.Close()); err != nil {
			t.Errorf("killed %s: %v", what, err)
		}
		if info, err := os.Stat(path + "-wal"); err == nil && info.Size() > 0 {
			t.Errorf("killed %s, then closed: a log of %d bytes is left", what, info.Size())
		}
	}
	steps := func(round int) {
		conn := must(s.writer.Conn(s.ctx))(t)
		s.ok(setMark(s.ctx, conn, s.file.mark+2))
		moment(fmt.Sprint(round, ": marked, not settled"))
		s.file.mark += 2
		must(intoFile(s.ctx, conn, false))(t)
		s.ok(s.remember())
		moment(fmt.Sprint(round, ": settled"))
		s.ok(setMark(s.ctx, conn, s.file.mark))
		moment(fmt.Sprint(round, ": the log begun anew"))
		s.ok(conn.Close())
	}
	for round := range 3 {
		s.read(in, 1+readings, 0.1)
		readings++
		moment(fmt.Sprint(round, ": after a reading"))
		steps(round)
		s.read(in, 1+readings, 0.1)
		readings++
		moment(fmt.Sprint(round, ": after another"))
		conn := must(s.writer.Conn(s.ctx))(t)
		s.ok(setMark(s.ctx, conn, s.file.mark+1))
		moment(fmt.Sprint(round, ": marked as closed"))
		must(intoFile(s.ctx, conn, false))(t)
		moment(fmt.Sprint(round, ": closed in the file"))
		must(intoFile(s.ctx, conn, true))(t)
		moment(fmt.Sprint(round, ": its log emptied"))
		s.ok(s.remember())
		s.ok(conn.Close())
		s.file.mark += 2
		s.ok(s.Settle(s.ctx))
		moment(fmt.Sprint(round, ": opened again"))
	}
}

// A frame of the log that is damaged, with commits behind it, is no power cut.
func TestDamagedLogIsTold(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	s.ok(s.Settle(s.ctx))
	for fret := range 4 {
		s.read(in, 1+fret, 0.1)
	}
	path := copyOf(t, s.path, filepath.Join(t.TempDir(), "record.db"), "", "-wal")
	log := must(os.ReadFile(path + "-wal"))(t)
	log[logHead+frameHead+40] ^= 4
	if err := os.WriteFile(path+"-wal", log, 0o640); err != nil {
		t.Fatal(err)
	}
	_, err := Open(path, Options{Station: "bench 1"})
	wantErr(t, err, ErrCorrupt, "its log is damaged at frame 1", "sagitta restore")
}

// A verdict, and rest, leave nothing in the log alone: a copy of the file as it lies holds the verdict.
func TestVerdictIsWrittenIntoTheFile(t *testing.T) {
	s := newShop(t, serials(1)...)
	s.verdict(s.start("QM-2611-0001"), inspect.Pass, 0.3, 0.3)
	n := must(s.Audit(s.ctx, 1))(t)[0].Seq
	until(t, "the verdict is in the file", func() bool { return strings.HasPrefix(newestIn(s.path), fmt.Sprintf("%d ", n)) })
	s.ok(s.CloseBatch(s.ctx, "x", "QM-2611"))
	until(t, "at rest all is in the file", func() bool { return strings.HasPrefix(newestIn(s.path), fmt.Sprintf("%d ", n+1)) })
}

// A disk that fails as the log is to begin with the mark, once it is in the file: the next commit begins it so, and a station that is killed
// then finds its record and all that was acknowledged.
func TestLogBegunWithoutItsMark(t *testing.T) {
	s := newShop(t, serials(1)...)
	in := s.start("QM-2611-0001")
	conn := must(s.writer.Conn(s.ctx))(t)
	s.file.mark += 2
	s.file.unmarked = true // as settle leaves it
	s.ok(setMark(s.ctx, conn, s.file.mark))
	if all := must(intoFile(s.ctx, conn, false))(t); !all {
		t.Fatal("the log is not in the file")
	}
	s.ok(errors.Join(s.remember(), conn.Close()))
	r := s.read(in, 1, 0.25)
	to := filepath.Join(t.TempDir(), "record.db")
	s.ok(errors.Join(copyFile(s.path, to), copyFile(s.path+"-wal", to+"-wal")))
	db := must(Open(to, Options{Station: "bench 1"}))(t)
	defer func() { s.ok(db.Close()) }()
	if got := must(db.Readings(s.ctx, in.ID))(t); len(got) != 1 || got[0].ID != r.ID {
		t.Errorf("readings %+v", got)
	}
}
