package command

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"sagitta/inspect"
	"sagitta/station/app"
	"sagitta/station/demo"
)

// sagitta runs one command line as the built program would.
func sagitta(t testing.TB, stdin string, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = Run(t.Context(), args, strings.NewReader(stdin), &o, &e)
	return code, o.String(), e.String()
}

func neck(name, file string) string {
	return filepath.Join("..", "..", "testdata", "reference", "geometry", "necks", name, file)
}

// TestCheckCommand judges the reference necks and ends with the documented exit codes.
func TestCheckCommand(t *testing.T) {
	good, bowed := "W1-good-neck", "W2-too-much-relief"
	code, out, errs := sagitta(t, "", "check", neck(good, "spec.toml"), neck(good, "readings.json"))
	if code != exitDone || !strings.Contains(out, "PASS") || errs != "" {
		t.Errorf("good neck: code %d, %q, %q", code, out, errs)
	}
	code, out, _ = sagitta(t, "", "check", neck(bowed, "spec.toml"), neck(bowed, "readings.json"))
	if code != exitReject || !strings.Contains(out, "REWORK") || !strings.Contains(out, "truss rod") || !strings.Contains(out, "1–14") {
		t.Errorf("bowed neck: code %d\n%s", code, out)
	}
	humped := "W5-hump"
	readings, err := os.ReadFile(neck(humped, "readings.json"))
	if err != nil {
		t.Fatal(err)
	}
	code, out, _ = sagitta(t, string(readings), "check", neck(humped, "spec.toml"), "-", neck(good, "readings.json"), "--json")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if code != exitReject || len(lines) != 2 {
		t.Fatalf("two files: code %d, %d lines", code, len(lines))
	}
	for i, want := range []inspect.Disposition{inspect.Repair, inspect.Pass} {
		var res inspect.Result
		if err := json.Unmarshal([]byte(lines[i]), &res); err != nil || res.Disposition != want {
			t.Errorf("line %d: %s, %v; want %s", i+1, res.Disposition, err, want)
		}
	}
}

// TestBadInput gets a sentence that says what, where, what was found and what is allowed.
func TestBadInput(t *testing.T) {
	dir := t.TempDir()
	spec, err := os.ReadFile(neck("W1-good-neck", "spec.toml"))
	if err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	s := string(spec)
	misspelt := write("misspelt.toml", strings.Replace(s, "joint_fret", "join_fret", 1))
	upside := write("upside.toml", strings.Replace(strings.Replace(s, "lower_mm = 0.2\n", "lower_mm = 0.9\n", 1), "target_mm = 0.3\n", "", 1))
	short := write("short.json", `{"serial":"QM-2610-0101","profile":[{"track":"bass","y_nut_mm":-17.5,"y_saddle_mm":-26,"z_mm":[0,0.1]}]}`)
	readings, fine := neck("W1-good-neck", "readings.json"), neck("W1-good-neck", "spec.toml")
	kept := filepath.Join(dir, "kept")
	a, err := app.Open(t.Context(), app.Options{Dir: kept, Name: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Record.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		args []string
		code int
		want []string
	}{
		{"misspelt key", []string{"check", misspelt, readings}, exitFailed, []string{"misspelt.toml", "join_fret", "joint_fret"}},
		{"limits upside down", []string{"check", upside, readings}, exitFailed, []string{"upside.toml", "0.9", "0.36"}},
		{"wrong number of frets", []string{"check", fine, short}, exitFailed, []string{"short.json", "z_mm", "2", "22"}},
		{"no such spec", []string{"check", filepath.Join(dir, "none.toml"), readings}, exitFailed, []string{"none.toml"}},
		{"missing argument", []string{"check", fine}, exitUsage, []string{"READINGS"}},
		{"unknown flag", []string{"check", "--jsn", fine, readings}, exitUsage, []string{"--jsn"}},
		{"unknown command", []string{"chek"}, exitUsage, []string{`unknown command "chek" of sagitta; did you mean "check"?`, "Try: sagitta --help"}},
		{"unknown kind of chart", []string{"chart", "foo", fine, "--json"}, exitUsage, []string{`unknown command "foo" of sagitta chart; they are single (imr), means (xbar-r)`, "Try: sagitta chart --help"}},
		{"unknown study", []string{"study", "crosed", fine, "--tolerance", "1"}, exitUsage, []string{`did you mean "crossed"?`}},
		{"a word for a whole number", []string{"sampling", "--lot", "many"}, exitUsage, []string{`--lot: found "many"; allowed: a whole number`, "Try: sagitta sampling --help"}},
		{"a word for a number", []string{"chart", "ewma", fine, "--lambda", "0,2"}, exitUsage, []string{`--lambda: found "0,2"; allowed: a number, such as 0.5`}},
		{"unknown batch", []string{"report", "--data", filepath.Join(dir, "nowhere"), "QM-0000"}, exitFailed, []string{"nowhere"}},
		{"unknown decoder", []string{"listen", "/dev/null", "--decoder", "nonsense"}, exitUsage, []string{"nonsense", `"decimal comma"`}},
		{"missing port", []string{"listen", filepath.Join(dir, "nowhere"), "--decoder", "decimal comma"}, exitFailed, []string{"no such port"}},
		{"a file for a port", []string{"listen", fine, "--decoder", "decimal comma"}, exitFailed, []string{"not a serial port"}},
		{"a folder for a port", []string{"listen", dir, "--decoder", "decimal comma"}, exitFailed, []string{dir, "port"}},
		{"batch not in the record", []string{"report", "--data", kept, "QM-0000"}, exitFailed, []string{`batch "QM-0000" is not in the record ` + kept + "; it has no batch yet"}},
		{"missing decoder", []string{"listen", "/dev/null"}, exitUsage, []string{"--decoder"}},
		{"no value", []string{"sampling", "--lot"}, exitUsage, []string{"--lot: found no value; needed: --lot N"}},
		{"misspelt flag", []string{"report", "--unt", "in"}, exitUsage, []string{"unknown option --unt of sagitta report; did you mean --unit?"}},
		{"shifts that are no times", []string{"serve", "--shifts", "early"}, exitUsage, []string{`--shifts: found "early"`, "06:00"}},
		{"shell that is none", []string{"completion", "tortoise"}, exitUsage, []string{"tortoise", "bash, zsh, fish or powershell"}},
		{"log level", []string{"serve", "--log-level", "loud"}, exitUsage, []string{`--log-level: found "loud"; allowed: debug, info, warn or error`}},
		{"log file", []string{"serve", "--log-file", filepath.Join(dir, "none", "log"), "--data", filepath.Join(dir, "unmade")}, exitFailed, []string{"--log-file", "none"}},
		{"help of what is not there", []string{"help", "chart", "foo"}, exitUsage, []string{`unknown command "foo" of sagitta chart`}},
		{"bad unit", []string{"report", "--unit", "cm", "QM-0000"}, exitUsage, []string{"cm", "mm"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := sagitta(t, "", c.args...)
			if code != c.code {
				t.Errorf("exit code %d, want %d (%s)", code, c.code, errs)
			}
			for _, w := range c.want {
				if !strings.Contains(errs, w) {
					t.Errorf("%q does not say %q (printed: %q)", errs, w, out)
				}
			}
		})
	}
}

// TestUnattendedDemo runs the whole job with no browser: every neck through simulated gauges on pseudo-terminals,
// rework, second attempts, workbooks. The simulated truth says which necks must not pass at first.
func TestUnattendedDemo(t *testing.T) {
	dir := t.TempDir()
	code, out, errs := sagitta(t, "", "demo", "--unattended", "--out", dir)
	if code != exitDone {
		t.Fatalf("exit code %d\n%s\n%s", code, out, errs)
	}
	if !strings.Contains(out, "  30 of 30 may ship") || !strings.Contains(out, "  6 of 6 may ship") {
		t.Errorf("summary:\n%s", out)
	}
	a, err := app.Open(t.Context(), app.Options{Dir: dir, Name: "reader"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	scenarios, err := demo.Scenarios()
	if err != nil {
		t.Fatal(err)
	}
	for _, sc := range scenarios {
		truth, err := sc.Truth()
		if err != nil {
			t.Fatal(err)
		}
		for _, tr := range truth {
			first := firstVerdict(t, a, tr.Serial)
			if string(first.Disposition) != tr.Expect {
				t.Errorf("%s (%s): first disposition %s, the truth expects %s", tr.Serial, tr.What, first.Disposition, tr.Expect)
			}
			for _, c := range first.Result.Characteristics {
				want := tr.ReliefBassMM
				if c.Name != "relief" || c.Track == "centre" {
					continue
				}
				if c.Track == "treble" {
					want = tr.ReliefTrebleMM
				}
				if d := *c.Value - want; d > 4**c.U || d < -4**c.U {
					t.Errorf("%s: relief %s %.4f mm, truth %.4f mm, u %.4f mm", tr.Serial, c.Track, *c.Value, want, *c.U)
				}
			}
		}
		f, err := excelize.OpenFile(filepath.Join(dir, sc.Batch+".xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := f.GetRows("Necks")
		if err != nil {
			t.Fatal(err)
		}
		if len(rows) < sc.Necks+1 {
			t.Errorf("%s: %d rows on sheet Necks for %d necks", sc.Batch, len(rows), sc.Necks)
		}
		_ = f.Close()
	}
	if _, err := os.Stat(filepath.Join(dir, "truth.txt")); err != nil {
		t.Error(err)
	}
	if err := a.Record.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
}

// firstVerdict is the final verdict of a neck's first inspection.
func firstVerdict(t *testing.T, a *app.App, serial string) (v struct {
	Disposition inspect.Disposition
	Result      *inspect.Result
}) {
	t.Helper()
	ctx := context.Background()
	n, err := a.Record.Neck(ctx, serial)
	if err != nil {
		t.Fatal(err)
	}
	all, err := a.Record.Inspections(ctx, n.ID)
	if err != nil || len(all) == 0 {
		t.Fatalf("%s: %d inspections, %v", serial, len(all), err)
	}
	got, err := a.Record.LatestVerdict(ctx, all[0].ID)
	if err != nil || got == nil {
		t.Fatalf("%s: no verdict, %v", serial, err)
	}
	v.Disposition, v.Result = got.Disposition, got.Result
	return v
}

// TestCheckExplains prints formula, source and budget; the published weights of relief give its u.
func TestCheckExplains(t *testing.T) {
	spec, readings := neck("W1-good-neck", "spec.toml"), neck("W1-good-neck", "readings.json")
	code, out, errs := sagitta(t, "", "check", spec, readings, "--explain", "relief")
	if code != exitDone {
		t.Fatalf("code %d: %s", code, errs)
	}
	// u of relief by its weights, 0.006167 mm: testdata/reference/geometry/beam_and_uncertainty.json.
	for _, want := range []string{"chord between the datum frets", "bass side, fret 7", "66.6 %", "0.0062", "0.0123"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if code, _, errs = sagitta(t, "", "check", spec, readings, "--explain", "relif"); code != exitUsage || !strings.Contains(errs, "relief_max") {
		t.Errorf("misspelt: code %d, %s", code, errs)
	}
	_, out, _ = sagitta(t, "", "check", spec, readings)
	if !strings.Contains(out, "crowns against the chord over frets 1–17") || strings.Count(out, " o") < 3*22-10 {
		t.Errorf("no profile in\n%s", out)
	}
}
