package command

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/record"
)

// TestEveryCommandHelps: the help of each command says what it is for, how it is called, every option, and the other names.
func TestEveryCommandHelps(t *testing.T) {
	var visit func(cmd *cobra.Command)
	visit = func(cmd *cobra.Command) {
		path := strings.Fields(cmd.CommandPath())[1:]
		code, out, errs := sagitta(t, "", append(path, "--help")...)
		want := append([]string{cmd.CommandPath(), "Options", "--help"}, cmd.Aliases...)
		if cmd.Long == "" {
			want = append(want, strings.Fields(cmd.Short)[0])
		}
		for _, c := range cmd.Commands() {
			if c.IsAvailableCommand() {
				want = append(want, namesOf(c))
				visit(c)
			}
		}
		for _, w := range want {
			if code != exitDone || errs != "" || !strings.Contains(out, w) {
				t.Errorf("%s: code %d, %q, no %q in\n%s", cmd.CommandPath(), code, errs, w, out)
			}
		}
		for line := range strings.Lines(out) {
			if cmd.Long == "" && len([]rune(line)) > usualWidth+1 {
				t.Errorf("%s: a line of %d signs: %s", cmd.CommandPath(), len([]rune(line)), line)
			}
		}
		if cmd.HasParent() {
			if _, again, _ := sagitta(t, "", append([]string{"help"}, path...)...); again != out {
				t.Errorf("help %s prints\n%s\nand --help\n%s", strings.Join(path, " "), again, out)
			}
		}
	}
	visit(rootCommand())
}

// TestOldWordsStay: the words of before call the same commands as the plainer ones.
func TestOldWordsStay(t *testing.T) {
	for old, now := range map[string]string{
		"chart imr": "chart single", "chart xbar-r": "chart means", "chart xbar-s": "chart deviations", "chart p": "chart share", "chart u": "chart rate",
		"chart ewma": "chart drift", "chart cusum": "chart sums",
		"study crossed": "study people", "study type1": "study master", "study linearity": "study travel", "study agreement": "study ratings",
	} {
		_, before, _ := sagitta(t, "", append(strings.Fields(old), "--help")...)
		_, after, _ := sagitta(t, "", append(strings.Fields(now), "--help")...)
		if before != after || !strings.Contains(after, "sagitta "+now) {
			t.Errorf("%s prints\n%s\n%s prints\n%s", old, before, now, after)
		}
	}
}

// TestVersion: the command and the option say the same, with the newest schema of the record.
func TestVersion(t *testing.T) {
	code, out, _ := sagitta(t, "", "version")
	_, option, _ := sagitta(t, "", "--version")
	if code != exitDone || out != option || !strings.HasPrefix(out, "sagitta ") || !strings.Contains(out, ", go") || !strings.HasSuffix(out, "record schema "+record.Schema()+"\n") {
		t.Errorf("code %d, %q, %q", code, out, option)
	}
}

// TestCompletion: a script for each shell, and the words that the scripts ask for.
func TestCompletion(t *testing.T) {
	for _, shell := range shells {
		if code, out, errs := sagitta(t, "", "completion", shell); code != exitDone || !strings.Contains(out, "sagitta") || errs != "" {
			t.Errorf("%s: code %d, %s", shell, code, errs)
		}
	}
	dir := t.TempDir()
	a := openStation(t, dir)
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "demo", "qm-bolt-648.toml"))
	if err != nil {
		t.Fatal(err)
	}
	spec, err := a.Record.AddSpec(t.Context(), "Tove Aske", "", "bolt.toml", text)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.Record.OpenBatch(t.Context(), "Tove Aske", batch.Batch{Number: "QM-2609", Spec: spec}, nil); err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ line, want string }{
		{"report --data " + dir + " |", "QM-2609"},
		{"import --data " + dir + " --batch |", "QM-2609"},
		{"report --data " + filepath.Join(dir, "nowhere") + " |", ":36"}, // nothing, and no files
		{"chart |", "single"},
		{"study |", "people"},
		{"listen --decoder |", "decimal comma"},
		{"decode |", "decimal comma"},
		{"check --explain |", "relief_max"},
		{"report --unit |", "in"},
		{"serve --log-level |", "debug"},
		{"help |", "chart"},
	} {
		args := append([]string{"__complete"}, strings.Split(c.line, " ")...)
		args[len(args)-1] = "" // the word that is begun
		if code, out, _ := sagitta(t, "", args...); code != exitDone || !strings.Contains(out, c.want) {
			t.Errorf("%s: code %d, no %q in\n%s", c.line, code, c.want, out)
		}
	}
}

// TestExamplesAreCommands: every command has examples, and what they call is there: the command, its options, and as many arguments.
func TestExamplesAreCommands(t *testing.T) {
	words := regexp.MustCompile(`"[^"]*"|\S+`)
	for _, cmd := range rootCommand().Commands() {
		if cmd.Name() == "version" || cmd.Name() == "help" {
			continue
		}
		if cmd.Example == "" {
			t.Errorf("%s has no examples", cmd.Name())
		}
		for line := range strings.Lines(rootCommand().Example + "\n" + cmd.Example) {
			line, _, _ = strings.Cut(strings.TrimSpace(line), "   ")         // what it is for
			line = regexp.MustCompile(` [>|] .*`).ReplaceAllString(line, "") // what the shell does with it
			args := words.FindAllString(line, -1)
			if args[0] != "sagitta" {
				continue
			}
			of, rest, err := rootCommand().Find(args[1:])
			if err == nil {
				err = of.ParseFlags(rest)
			}
			if err == nil {
				err = of.ValidateArgs(of.Flags().Args())
			}
			if err != nil || !of.Runnable() || !of.HasParent() {
				t.Errorf("%s: %v", line, err)
			}
		}
	}
}
