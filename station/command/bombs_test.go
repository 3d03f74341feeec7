package command

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// bomb is a file that would keep a reader busy for minutes or fill the memory, and the bound that its refusal names.
type bomb struct {
	name string
	args []string // %s is the bomb
	text string
	want string
}

// goodNeck is a folder with a specification and readings that are read without a fault.
const goodNeck = "../../testdata/reference/geometry/necks/W1-good-neck"

func bombs(t testing.TB) []bomb {
	t.Helper()
	good := func(file string) string {
		text, err := os.ReadFile(filepath.Join(goodNeck, file))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	spec, readings := good("spec.toml"), good("readings.json")
	asSpec, asReadings := []string{"check", "%s", goodNeck + "/readings.json"}, []string{"check", goodNeck + "/spec.toml", "%s"}
	many := func(n int, format string) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, format, i)
		}
		return b.String()
	}
	oneString := "\n[[string]]\nnumber = %d\nname = \"E\"\npitch_hz = 100.0\ny_nut_mm = 0.0\ny_saddle_mm = 0.0\ndiameter_mm = 1.0\nplain = true\n"
	return []bomb{
		{"a key of a megabyte", asSpec, strings.Repeat("k", 1<<20-20) + " = 1\n", "a key of 1048556 bytes; allowed: keys of 200 bytes"},
		{"20,000 strings", asSpec, spec + many(20_000, oneString), "more than 1048576 bytes; allowed: 1 MiB"},
		{"600 strings", asSpec, spec + many(600, oneString), "string: found 606; allowed: 24"},
		{"60,000 unknown keys", asSpec, many(60_000, "key%d = 1\n"), "more than 5000 keys; allowed: 5000 keys in a file"},
		{"4,000 unknown keys", asSpec, many(4_000, "key%d = 1\n"), "more; the first 50 are told"},
		{"brackets", asSpec, "a = " + strings.Repeat("[", 500_000), "more than 32 lists and tables inside one another"},
		{"a key of many parts", asSpec, strings.Repeat("a.", 100_000) + "a = 1\n", "a key of more than 32 parts"},
		{"a long list", asSpec, "a = [" + strings.Repeat("1,", 200_000) + "1]\n", "more than 20000 entries of lists"},
		{"a long text where a number belongs", asSpec, strings.Replace(spec, "frets = ", `frets = "`+strings.Repeat("x", 500_000)+`" # `, 1), "…\"; allowed: a whole number"},
		{"a serial number of 70,000 characters", asReadings, strings.Replace(readings, `"serial": "`, `"serial": "`+strings.Repeat("Q", 70_000), 1), "characters; allowed: a serial number of 1 to 64 characters"},
		{"a deep list of readings", asReadings, `{"serial": "Q", "profile": ` + strings.Repeat("[", 500_000), "more than 32 lists and tables inside one another"},
		{"60,000 unknown keys of readings", asReadings, "{" + many(60_000, `"key%d": 1, `) + `"serial": "Q"}`, "more than 5000 keys; allowed: 5000 keys in a file"},
		{"a million heights", asReadings, `{"serial": "Q", "fret_x_mm": [` + strings.Repeat("1,", 400_000) + "1]}", "more than 20000 entries of lists"},
		{"a key of readings of half a megabyte", asReadings, `{"` + strings.Repeat("k", 1<<19) + `": 1}`, "keys of 200 bytes"},
		{"a header without an end", []string{"summary", "%s"}, strings.Repeat("value,", 1_000_000), "a header of more than 65536 bytes"},
		{"a column with a long name", []string{"summary", "%s"}, strings.Repeat("v", 60_000) + "\n1\n", "…"},
		{"a long cell", []string{"summary", "%s"}, "value\n" + strings.Repeat("9x", 1_000_000) + "\n", "…\"; allowed: a number"},
		{"a decoder of a megabyte", []string{"decode", "%s", "none.capture"}, strings.Repeat("# x\n", 1<<18), "allowed: 65536"},
	}
}

// errorLimit bounds what any refusal prints, bytes: 50 faults of a few hundred each.
const errorLimit = 30_000

// TestBombsAreRefused: each is refused with the bound that it passes, in a message that is not a bomb itself.
func TestBombsAreRefused(t *testing.T) {
	for _, b := range bombs(t) {
		t.Run(b.name, func(t *testing.T) { b.throw(t) })
	}
	t.Run("a file without an end", func(t *testing.T) {
		for _, args := range [][]string{{"check", "/dev/zero", goodNeck + "/readings.json"}, {"check", goodNeck + "/spec.toml", "/dev/zero"}, {"decode", "/dev/zero.toml", "/dev/zero"}} {
			if _, err := os.Stat("/dev/zero"); err != nil && runtime.GOOS == "windows" {
				t.Skip("this system has none")
			}
			var out, errs bytes.Buffer
			if code := Run(t.Context(), args, strings.NewReader(""), &out, &errs); code != exitFailed || args[0] == "check" && !strings.Contains(errs.String(), "more than 1048576 bytes; allowed: 1 MiB") {
				t.Errorf("%v: code %d: %s", args, code, &errs)
			}
		}
		var out, errs bytes.Buffer
		if code := Run(t.Context(), []string{"check", goodNeck + "/spec.toml", "-"}, endless{}, &out, &errs); code != exitFailed || !strings.Contains(errs.String(), "standard input: found more than 1048576 bytes") {
			t.Errorf("code %d: %s", code, &errs)
		}
	})
}

// endless never ends.
type endless struct{}

func (endless) Read(b []byte) (int, error) { return len(b), nil }

func (b bomb) throw(t testing.TB) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "bomb.toml")
	if err := os.WriteFile(file, []byte(b.text), 0o644); err != nil {
		t.Fatal(err)
	}
	args := make([]string, len(b.args))
	for i, a := range b.args {
		args[i] = strings.ReplaceAll(a, "%s", file)
	}
	var out, errs bytes.Buffer
	if code := Run(t.Context(), args, strings.NewReader(""), &out, &errs); code != exitFailed {
		t.Errorf("code %d", code)
	}
	if said := errs.String(); !strings.Contains(said, b.want) || len(said) > errorLimit {
		t.Errorf("said %d bytes, which lack %q: %.600s", len(said), b.want, said)
	}
}

// BenchmarkBombs shows how long each takes to be refused.
func BenchmarkBombs(b *testing.B) {
	for _, bomb := range bombs(b) {
		b.Run(bomb.name, func(b *testing.B) {
			for b.Loop() {
				bomb.throw(b)
			}
		})
	}
}

// TestComputingEndsAtOnce: a command that reads and computes ends as soon as it is interrupted, wherever it is, with the code of one that
// could not.
func TestComputingEndsAtOnce(t *testing.T) {
	for _, args := range [][]string{
		{"check", goodNeck + "/spec.toml", "-"}, {"summary", "-"}, {"capability", "-", "--upper", "1"}, {"chart", "single", "-"}, {"study", "master", "-", "--reference", "1"}, {"sampling", "--lots", "-"},
	} {
		ctx, interrupt := context.WithCancel(t.Context())
		asked := make(chan struct{})
		in, never := io.Pipe()
		reading := readerFunc(func(b []byte) (int, error) {
			select {
			case <-asked:
			default:
				close(asked)
			}
			return in.Read(b)
		})
		ended := make(chan int)
		var errs bytes.Buffer
		go func() { ended <- Run(ctx, args, reading, io.Discard, &errs) }()
		select {
		case <-asked:
		case code := <-ended:
			t.Fatalf("%v ended with %d before it read: %s", args, code, &errs)
		}
		interrupt()
		if code := <-ended; code != exitFailed || !strings.Contains(errs.String(), "interrupted: there is no answer") {
			t.Errorf("%v: code %d, said %q", args, code, &errs)
		}
		never.Close()
	}
}

type readerFunc func(b []byte) (int, error)

func (f readerFunc) Read(b []byte) (int, error) { return f(b) }
