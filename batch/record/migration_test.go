package record

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/pressly/goose/v3"
)

// eachStep is told of every statement of a migration before it is carried out.
type eachStep func()

func (f eachStep) Printf(string, ...any) { f() }
func (f eachStep) Fatalf(string, ...any) {}

// An older record is left, before every statement that brings it up to date, as a station would leave it that is killed there:
// its files as they are on the disk. It opens then, whole, with all its rows, whether the migration had been taken or not.
func TestKilledWhileMigrating(t *testing.T) {
	path := unpacked(t, filepath.Join("..", "..", "testdata", "record", "v14.db.gz"))
	db := &DB{path: path, station: "bench 1", now: clock()}
	var err error
	if db.writer, err = db.connect(true, false, false); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = db.Close() }()
	must(db.writer.Exec(`PRAGMA cache_size = 1`))(t) // what is written goes to the disk at once, not only at the commit
	var left []string
	unfinished := 0
	leave := func() {
		to := filepath.Join(t.TempDir(), "record.db")
		for _, part := range []string{"", "-wal"} {
			content, err := os.ReadFile(path + part)
			if err != nil && !os.IsNotExist(err) {
				t.Fatal(err)
			}
			if part != "" && len(content) > 0 {
				unfinished++
			}
			if err := os.WriteFile(to+part, content, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		left = append(left, to)
	}
	toldSteps = []goose.ProviderOption{goose.WithVerbose(true), goose.WithLogger(eachStep(leave))}
	steps, err := provider(db.writer)
	toldSteps = nil
	if err != nil {
		t.Fatal(err)
	}
	err = db.unchecked(t.Context(), func() error {
		_, err := steps.Up(t.Context())
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	leave()
	if len(left) < 40 || unfinished < 30 {
		t.Fatalf("%d states, %d of them with something half written", len(left), unfinished)
	}
	versions := map[int64]int{}
	for i, path := range left {
		old := must(Open(path, Options{ReadOnly: true, AsItIs: true}))(t)
		has, _, err := old.schema(t.Context(), old.reader, "test")
		if err != nil {
			t.Fatal(err)
		}
		versions[has]++
		if err := old.Close(); err != nil {
			t.Fatal(err)
		}
		db := must(Open(path, Options{Station: "bench 1"}))(t)
		if err := db.VerifyAudit(t.Context()); err != nil {
			t.Errorf("killed before statement %d: %v", i, err)
		}
		var necks, inspections, orphans, checked int
		if err := db.writer.QueryRow(`SELECT (SELECT count(*) FROM necks), (SELECT count(*) FROM inspections), (SELECT count(*) FROM pragma_foreign_key_check),
			(SELECT foreign_keys FROM pragma_foreign_keys)`).Scan(&necks, &inspections, &orphans, &checked); err != nil {
			t.Fatal(err)
		}
		if got, want := fmt.Sprint(necks, inspections, orphans, checked), "3 3 0 1"; got != want {
			t.Errorf("killed before statement %d: necks, inspections, rows that refer to nothing, references checked: %s, want %s", i, got, want)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if versions[14] < 30 || len(versions) < 2 {
		t.Errorf("the states are of schemas %v", versions)
	}
}

// A record with a row that refers to nothing is not brought up to date, and stays as it was.
func TestOrphansAreNotMigrated(t *testing.T) {
	path := unpacked(t, filepath.Join("..", "..", "testdata", "record", "v14.db.gz"))
	db := &DB{path: path}
	raw := must(db.connect(true, false, true))(t)
	must(raw.Exec(`DROP TRIGGER inspections_not_removed`))(t)
	must(raw.Exec(`DELETE FROM inspections WHERE ord = 1`))(t)
	if err := raw.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := Open(path, Options{Station: "bench 1"})
	wantErr(t, err, ErrCorrupt, "refers to one that is not there")
	old := must(Open(path, Options{ReadOnly: true, AsItIs: true}))(t)
	defer func() { _ = old.Close() }()
	if has, _, err := old.schema(t.Context(), old.reader, "test"); has != 14 || err != nil {
		t.Errorf("its schema is %d, %v", has, err)
	}
}
