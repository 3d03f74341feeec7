package command

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
	"sagitta/testdata/demo"
)

// fails runs a command in a process of its own whose files have room for so many bytes; it ends with 1. It returns what was printed
// for people.
func fails(t *testing.T, room int, args ...string) (errs string) {
	t.Helper()
	var out, said bytes.Buffer
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "SAGITTA_RUN="+strings.Join(args, "\n"), fmt.Sprint("SAGITTA_FILE_LIMIT=", room))
	cmd.Stdout, cmd.Stderr = &out, &said
	_ = cmd.Run()
	if code := cmd.ProcessState.ExitCode(); code != exitFailed {
		t.Errorf("%q ends with %d, want %d; it says %s%s", args, code, exitFailed, &out, &said)
	}
	return said.String()
}

// oneLine checks that a failed command says, in one line, each text.
func oneLine(t *testing.T, errs string, texts ...string) {
	t.Helper()
	if !strings.HasPrefix(errs, "sagitta: ") || strings.Count(errs, "\n") != 1 {
		t.Errorf("not one line: %q", errs)
	}
	for _, text := range texts {
		if !strings.Contains(errs, text) {
			t.Errorf("%q does not say %q", errs, text)
		}
	}
}

// filesIn lists a folder.
func filesIn(t *testing.T, dir string) []string {
	t.Helper()
	var names []string
	for _, e := range recordtest.Must(os.ReadDir(dir))(t) {
		names = append(names, e.Name())
	}
	return names
}

// TestFullDiskUnderCommands runs each command that writes where there is no room: it says what and what to do, and leaves nothing under the
// name that was asked for, nor beside it. With room it is done.
func TestFullDiskUnderCommands(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	furnished(t, dir)
	t.Run("import", func(t *testing.T) { importOnFullDisk(t, dir) })
	t.Run("demo", demoOnFullDisk)
	beside := openStation(t, dir) // both are made while the station runs
	defer func() { _ = beside.Close() }()
	for _, c := range []struct {
		name, file string
		room       int
		args       []string
	}{
		{"report", "LOT-1.xlsx", almostNothing, []string{"report", "LOT-1", "--data", dir, "-o", filepath.Join(out, "LOT-1.xlsx")}},
		{"archive", "copy.zip", 100_000, []string{"backup", filepath.Join(out, "copy.zip"), "--data", dir}},
		{"archive without room for its record", "copy.zip", almostNothing, []string{"backup", filepath.Join(out, "copy.zip"), "--data", dir}},
		{"backup", "copy.db", 100_000, []string{"backup", filepath.Join(out, "copy.db"), "--data", dir}},
	} {
		t.Run(c.name, func(t *testing.T) {
			oneLine(t, fails(t, c.room, c.args...), c.file, "room")
			if names := filesIn(t, out); len(names) > 0 {
				t.Errorf("left are %q", names)
			}
			if code, _, errs := sagitta(t, "", c.args...); code != exitDone {
				t.Errorf("with room it ends with %d: %s", code, errs)
			}
			if names := filesIn(t, out); len(names) != 1 || names[0] != c.file {
				t.Errorf("there are %q, want %s", names, c.file)
			}
			if err := os.Remove(filepath.Join(out, c.file)); err != nil {
				t.Fatal(err)
			}
		})
	}
}

// importOnFullDisk takes old inspections in where there is no room for all of them: none is.
func importOnFullDisk(t *testing.T, dir string) {
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 2"}))(t)
	spec := recordtest.Must(db.AddSpec(t.Context(), theManager, "", "bolt.toml", recordtest.Must(demo.Files.ReadFile("qm-bolt-648.toml"))(t)))(t)
	b := recordtest.Must(db.OpenBatch(t.Context(), theManager, batch.Batch{Number: "QM-2609", Spec: spec}, nil))(t)
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	old := filepath.Join("..", "..", "testdata", "import", "old-line")
	args := []string{"import", old + ".toml", old + ".csv", "--data", dir, "--batch", b.Number, "--by", theManager}
	const indexOnly = 33_000 // room for the index of the log of pages, and for the first few of these
	oneLine(t, fails(t, indexOnly, args...), "not recorded", "ake room")
	reader := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{ReadOnly: true}))(t)
	counts, err := reader.Counts(t.Context(), b.ID)
	if err != nil || counts.Registered != 0 || counts.Inspections != 0 {
		t.Errorf("%d necks, %d inspections, %v; want none", counts.Registered, counts.Inspections, err)
	}
	if err := reader.Close(); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"verify", "--data", dir}, args} {
		if code, _, errs := sagitta(t, "", args...); code != exitDone {
			t.Errorf("%s ends with %d: %s", args[0], code, errs)
		}
	}
}

// demoOnFullDisk begins the demo where there is no room for its record, and where there is not enough: it says so in its last line
// and leaves no workbook, and what it kept verifies.
func demoOnFullDisk(t *testing.T) {
	for _, room := range []int{almostNothing, 900_000} {
		dir := t.TempDir()
		errs := fails(t, room, "demo", "--unattended", "--out", dir)
		lines := strings.Split(strings.TrimSpace(errs), "\n")
		if last := lines[len(lines)-1]; !strings.HasPrefix(last, "sagitta: ") || !strings.Contains(last, "ake room") {
			t.Errorf("room for %d bytes: the last line is %q", room, last)
		}
		for _, name := range filesIn(t, dir) {
			if strings.HasSuffix(name, ".xlsx") || strings.HasSuffix(name, ".part") {
				t.Errorf("room for %d bytes: %s is left", room, name)
			}
		}
		if room > almostNothing {
			if code, _, errs := sagitta(t, "", "verify", "--data", dir); code != exitDone {
				t.Errorf("verify ends with %d: %s", code, errs)
			}
		}
	}
}
