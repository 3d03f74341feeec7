package record

import (
	"bytes"
	"compress/gzip"
	"database/sql"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/inspect"
)

var update = flag.Bool("update", false, "write testdata/record's file of the present schema again")

// Every schema that was ever shipped has a small record of it checked in, made by the program of its time, with readings under
// verdicts (the plain files have none under theirs). A record of any of them verifies, is brought up to date and reads as it
// did. A file is never made again once its schema has been shipped.
func TestOldRecordsOpen(t *testing.T) {
	steps := must(migrations.ReadDir("migrations"))(t)
	newest := "v" + strings.TrimLeft(strings.Split(steps[len(steps)-1].Name(), "_")[0], "0") + ".db.gz"
	folder := filepath.Join("..", "..", "testdata", "record")
	if *update {
		writeOld(t, filepath.Join(folder, newest))
	}
	files := must(filepath.Glob(filepath.Join(folder, "v*.db*")))(t)
	if !slices.Contains(files, filepath.Join(folder, newest)) {
		t.Errorf("testdata/record has no %s: make it with -update once the schema is settled", newest)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			db := must(Open(unpacked(t, file), Options{Station: "bench 1"}))(t)
			defer func() { _ = db.Close() }()
			ctx := t.Context()
			if err := db.VerifyAudit(ctx); err != nil {
				t.Error(err)
			}
			c := must(db.Counts(ctx, must(db.Batch(ctx, "QM-2611"))(t).ID))(t)
			if c.Registered != 3 || c.FirstPass != 1 || c.Rework != 1 || c.InProgress != 1 || !slices.Equal(c.Reasons, []batch.Reason{{Name: "relief", Necks: 1}}) {
				t.Errorf("counts %+v", c)
			}
			open := must(db.OpenInspections(ctx))(t)
			r := must(db.Readings(ctx, open[0].ID))(t)
			if len(r) != 2 || r[1].Value != 0.125 || string(r[0].Raw) != "+0.012mm\r\n" {
				t.Errorf("readings %+v", r)
			}
			if strings.HasSuffix(file, ".gz") {
				sealedReadings(t, db)
			}
		})
	}
}

// An old record is verified and copied as it is, and brought up to date before anything else is read of it, unless a station has
// it.
func TestOldRecordsAreRead(t *testing.T) {
	for _, name := range []string{"v1.db", "v13.db"} {
		path := unpacked(t, filepath.Join("..", "..", "testdata", "record", name))
		before := must(os.ReadFile(path))(t)
		db := must(Open(path, Options{ReadOnly: true, AsItIs: true}))(t)
		if err := db.VerifyAudit(t.Context()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := errors.Join(db.Backup(t.Context(), path+".copy"), db.Close()); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if after := must(os.ReadFile(path))(t); !bytes.Equal(before, after) {
			t.Errorf("%s was changed by being verified", name)
		}
		station := &DB{path: path}
		if err := station.takeLock("test"); err != nil {
			t.Fatal(err)
		}
		_, err := Open(path, Options{ReadOnly: true})
		wantErr(t, err, ErrOlder, "start its station once")
		if err := station.Close(); err != nil {
			t.Fatal(err)
		}
		db = must(Open(path, Options{ReadOnly: true}))(t)
		if c := must(db.Counts(t.Context(), must(db.Batch(t.Context(), "QM-2611"))(t).ID))(t); c.FirstPass != 1 {
			t.Errorf("%s: %+v", name, c)
		}
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	}
}

// TestOldRecordThatCannotBeBroughtUp: what hinders it is told, and nobody is sent to start a station that would fail in the same way.
func TestOldRecordThatCannotBeBroughtUp(t *testing.T) {
	path := unpacked(t, filepath.Join("..", "..", "testdata", "record", "v13.db"))
	raw := must(sql.Open("sqlite", path))(t)
	if _, err := raw.Exec(`CREATE TABLE lot_releases (x)`); err != nil {
		t.Fatal(err)
	}
	if err := raw.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := Open(path, Options{ReadOnly: true})
	if err == nil || errors.Is(err, ErrOlder) || strings.Contains(err.Error(), "start its station") {
		t.Fatalf("a record with a table that a migration makes: %v", err)
	}
	for _, want := range []string{"schema 13", "lot_releases", path} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("the error does not say %q: %v", want, err)
		}
	}
}

// sealedReadings looks at the readings under an old record's verdict, and that its digest finds one that was changed.
func sealedReadings(t *testing.T, db *DB) {
	in := must(db.Inspections(t.Context(), must(db.Neck(t.Context(), "QM-2611-0001"))(t).ID))(t)[0]
	r := must(db.Readings(t.Context(), in.ID))(t)
	if v := must(db.LatestVerdict(t.Context(), in.ID))(t); len(r) != 2 || v.LastSeq != 2 || r[1].Supersedes != r[0].ID || r[1].U != 1e-7 || string(r[1].Raw) != "\x00\xff" {
		t.Errorf("under verdict %+v stand %+v", v, r)
	}
	for _, change := range []string{`DROP TRIGGER readings_not_changed`, `UPDATE readings SET u = 2e-7 WHERE id = '` + r[1].ID + `'`} {
		must(db.writer.Exec(change))(t)
	}
	wantErr(t, db.VerifyAudit(t.Context()), ErrAudit, "a reading under it")
}

// unpacked is a copy of an old record, in a folder of the test's own.
func unpacked(t *testing.T, file string) string {
	t.Helper()
	f := must(os.Open(file))(t)
	defer func() { _ = f.Close() }()
	var from io.Reader = f
	if strings.HasSuffix(file, ".gz") {
		from = must(gzip.NewReader(f))(t)
	}
	path := filepath.Join(t.TempDir(), "record.db")
	if err := os.WriteFile(path, must(io.ReadAll(from))(t), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// writeOld makes the record of the present schema.
func writeOld(t *testing.T, path string) {
	s := newShop(t, serials(3)...)
	in := s.start("QM-2611-0001")
	replaced := s.read(in, 1, 0.25)
	again := crown(in, 1, 0.1)
	again.Supersedes, again.Reason, again.Raw, again.U = replaced.ID, "<left> & \"right\"\t\u2028", []byte{0, 0xff}, 1e-7
	again.Laying = 1
	must(s.AppendReading(s.ctx, again))(t)
	s.verdict(in, inspect.Pass, 0.3, 0.3)
	in = s.start("QM-2611-0002")
	s.read(in, 3, -0.0125)
	s.verdict(in, inspect.Rework, 0.5, 0.5)
	must(s.AppendRework(s.ctx, batch.ReworkAction{NeckID: in.NeckID, InspectionID: in.ID, By: "Ossian Reed", What: "truss rod", Turns: 0.25, Direction: "tighten"}))(t)
	in = s.start("QM-2611-0003")
	s.read(in, 1, 0)
	s.read(in, 2, 0.125)
	plain := filepath.Join(t.TempDir(), "plain.db")
	s.ok(s.Backup(s.ctx, plain))
	out := must(os.Create(path))(t)
	pack := must(gzip.NewWriterLevel(out, gzip.BestCompression))(t)
	must(pack.Write(must(os.ReadFile(plain))(t)))(t)
	s.ok(pack.Close())
	s.ok(out.Close())
}
