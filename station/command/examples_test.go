package command

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// example is one worked example of testdata/reference/statistics; its source stands in the file.
type example struct {
	Name             string
	Inputs, Expected map[string]json.RawMessage
}

// examples reads the entries of a file whose name holds a word, and fails when there is none.
func examples(t *testing.T, file, word string) []example {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "statistics", file))
	if err != nil {
		t.Fatal(err)
	}
	var doc struct{ Entries []example }
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	doc.Entries = slices.DeleteFunc(doc.Entries, func(e example) bool { return !strings.Contains(e.Name, word) })
	if len(doc.Entries) == 0 {
		t.Fatalf("%s has no entry %q", file, word)
	}
	return doc.Entries
}

// value reads a value of an example.
func value[T any](t *testing.T, from map[string]json.RawMessage, key string) T {
	t.Helper()
	var v T
	if err := json.Unmarshal(from[key], &v); err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return v
}

// delimited writes rows to a file with a header and gives its path.
func delimited(t *testing.T, header string, rows []string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "data.csv")
	if err := os.WriteFile(path, []byte(header+"\n"+strings.Join(rows, "\n")+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// asked runs a command with --json, checks that it prints exactly the given keys, and gives the result.
func asked(t *testing.T, keys string, args ...string) map[string]any {
	t.Helper()
	code, out, errs := sagitta(t, "", append(args, "--json")...)
	if code != exitDone || errs != "" {
		t.Fatalf("%v: code %d, %s", args, code, errs)
	}
	var result map[string]any
	if err := json.Unmarshal([]byte(out), &result); err != nil {
		t.Fatalf("%v: %v of %s", args, err, out)
	}
	var got []string
	for key := range result {
		got = append(got, key)
	}
	want := strings.Split(keys, " ")
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("%v: keys %v, want %v", args, got, want)
	}
	return result
}

// same fails unless a number of a JSON result is want within a relative tolerance.
func same(t *testing.T, what string, got any, want, rel float64) {
	t.Helper()
	g, isNumber := got.(float64)
	if !isNumber || !(math.Abs(g-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %v, want %.17g", what, got, want)
	}
}
