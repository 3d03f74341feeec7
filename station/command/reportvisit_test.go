package command

import (
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch/history/visits"
	"sagitta/station/app"
	"sagitta/station/demo"
)

// TestReportOfASerialNumber: asked for the report of an instrument, it says what its visits are named, and each has a report.
func TestReportOfASerialNumber(t *testing.T) {
	dir := t.TempDir()
	a, err := demo.OpenBuilder(t.Context(), app.Options{Name: "back room", Dir: dir}, 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	code, _, errs := sagitta(t, "", "report", visits.Serial, "--data", dir)
	for _, want := range []string{visits.Serial + " is a serial number, not a batch", `which was "` + visits.Serial + ` visit 16" last`, "sagitta sheet " + visits.Serial} {
		if code != exitFailed || !strings.Contains(errs, want) {
			t.Errorf("exit %d: %s; want %q", code, errs, want)
		}
	}
	code, out, errs := sagitta(t, "", "report", visits.Serial+" visit 16", "--data", dir, "-o", filepath.Join(dir, "visit.xlsx"))
	if code != exitDone {
		t.Errorf("exit %d: %s %s", code, out, errs)
	}
}
