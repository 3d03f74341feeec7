package command

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/station/signon"
)

const herons = "four herons mend a violet roof"

// TestPeopleAtTheMachine makes the first administrator, resets somebody, and turns signing on off and on again, by commands; the trail says where it was
// done.
func TestPeopleAtTheMachine(t *testing.T) {
	dir := t.TempDir()
	open := func(readOnly bool) *record.DB {
		return recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1", ReadOnly: readOnly}))(t)
	}
	if err := open(false).Close(); err != nil {
		t.Fatal(err)
	}
	run := func(want int, words string, args ...string) string {
		t.Helper()
		code, out, errs := sagitta(t, "", append(args, "--data", dir)...)
		if code != want || !strings.Contains(out+errs, words) {
			t.Fatalf("%v: code %d, %q %q; want %d and %q", args, code, out, errs, want, words)
		}
		return out
	}
	use := func(out, name string) {
		t.Helper()
		db := open(false)
		code := regexp.MustCompile(`([A-Z2-7]{5}-){3}[A-Z2-7]{5}`).FindString(out)
		s := signon.New(signon.Options{Record: db, Sessions: db.Sessions()})
		recordtest.Must(s.UseCode(t.Context(), code, name, herons, "731946"))(t)
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
	}
	run(exitDone, "No sign-on, this machine only", "people")
	run(exitFailed, "nobody who administers people has a password yet", "people", "sign-on")
	run(exitFailed, `"Nobody Here"`, "people", "code", "Nobody Here")
	use(run(exitDone, "for the first administrator", "people", "code"), "Ines Vael")
	if out := run(exitDone, "People sign on", "people"); !regexp.MustCompile(`Ines Vael +quality manager, administers people +chosen`).MatchString(out) {
		t.Error(out)
	}
	run(exitFailed, "people sign on already", "people", "code")
	use(run(exitDone, "for Ines Vael", "people", "code", "Ines Vael"), "")
	run(exitDone, "No sign-on", "people", "no-sign-on")
	run(exitDone, "People sign on", "people", "sign-on")
	db := open(true)
	defer func() { _ = db.Close() }()
	at := 0
	for _, e := range recordtest.Must(db.Audit(t.Context(), 0))(t) {
		if e.By == batch.AtTheMachine {
			at++
		}
	}
	if at != 4 {
		t.Errorf("the trail has %d acts at the machine, want two codes, off and on", at)
	}
}

// TestCommandsAskForThePassword imports under a name: where people sign on that takes their password, from a file or standard input.
func TestCommandsAskForThePassword(t *testing.T) {
	s := recordtest.New(t)
	service := signon.New(signon.Options{Record: s.DB, Sessions: s.Sessions()})
	code, _, err := service.IssueCode(t.Context(), batch.AtTheMachine, "")
	if err != nil {
		t.Fatal(err)
	}
	recordtest.Must(service.UseCode(t.Context(), code, recordtest.Manager, herons, ""))(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	file := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	mapping := file("map.toml", "serial = \"Neck\"\ndate = \"Date\"\ndate_format = \"YYYY-MM-DD\"\ninspector = \"Who\"\n[[measurement]]\ncolumn = \"Relief\"\ncharacteristic = \"relief\"\ntrack = \"bass\"\nunit = \"mm\"\n")
	table := file("old.csv", "Neck,Date,Who,Relief\nOLD-1,2026-05-04,Ossian Reed,0.30\n")
	for _, c := range []struct {
		password, stdin string
		code            int
		words           string
	}{
		{"", "", exitUsage, "give --password-file"},
		{file("wrong", "four herons mend a violet barn\n"), "", exitFailed, "do not belong together"},
		{filepath.Join(dir, "nothing"), "", exitFailed, "nothing"},
		{"-", herons + "\n", exitDone, "imported into QM-2611"},
	} {
		args := []string{"import", mapping, table, "--batch", recordtest.Number, "--by", recordtest.Manager, "--data", s.Path}
		if c.password != "" {
			args = append(args, "--password-file", c.password)
		}
		code, out, errs := sagitta(t, c.stdin, args...)
		if code != c.code || !strings.Contains(out+errs, c.words) || strings.Contains(out+errs, "violet") {
			t.Errorf("--password-file %q: code %d, %q %q; want %d and %q", c.password, code, out, errs, c.code, c.words)
		}
	}
}
