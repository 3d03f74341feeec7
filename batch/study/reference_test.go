package study

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// entry is one worked example of testdata/reference/statistics; its source stands in the file.
type entry struct {
	Name     string
	Inputs   map[string]json.RawMessage
	Expected map[string]json.RawMessage
}

// references reads a file's entries whose name holds a word, and fails when there is none.
func references(t *testing.T, file, word string) []entry {
	t.Helper()
	text, err := os.ReadFile("../../testdata/reference/statistics/" + file)
	if err != nil {
		t.Fatal(err)
	}
	var doc struct{ Entries []entry }
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	var found []entry
	for _, e := range doc.Entries {
		if strings.Contains(e.Name, word) {
			found = append(found, e)
		}
	}
	if len(found) == 0 {
		t.Fatalf("%s has no entry %q", file, word)
	}
	return found
}

// decode reads a value of an entry.
func decode[T any](t *testing.T, from map[string]json.RawMessage, key string) T {
	t.Helper()
	var v T
	if err := json.Unmarshal(from[key], &v); err != nil {
		t.Fatalf("%s: %v", key, err)
	}
	return v
}

// near fails unless got is want within a relative tolerance.
func near(t *testing.T, what string, got any, want, rel float64) {
	t.Helper()
	var g float64
	switch v := got.(type) {
	case float64:
		g = v
	case *float64:
		if v == nil {
			t.Errorf("%s: not defined, want %.17g", what, want)
			return
		}
		g = *v
	}
	if !(math.Abs(g-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.17g, want %.17g (relative error %.2g)", what, g, want, math.Abs(g-want)/math.Abs(want))
	}
}

// crossed turns data[appraiser][part][trial] into measurements.
func crossed(data [][][]float64) []Measurement {
	var m []Measurement
	for a := range data {
		for p := range data[a] {
			for i, v := range data[a][p] {
				m = append(m, Measurement{fmt.Sprint(p + 1), string(rune('A' + a)), fmt.Sprint(i + 1), v})
			}
		}
	}
	return m
}
