package spc

import (
	"encoding/json"
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

// references reads a file's entries whose name starts with some words, and fails when there is none.
func references(t testing.TB, file, start string) []entry {
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
		if strings.HasPrefix(e.Name, start) {
			found = append(found, e)
		}
	}
	if len(found) == 0 {
		t.Fatalf("%s has no entry %q", file, start)
	}
	return found
}

// decode reads a value of an entry by its path.
func decode[T any](t testing.TB, from map[string]json.RawMessage, path ...string) T {
	t.Helper()
	for _, key := range path[:len(path)-1] {
		var inner map[string]json.RawMessage
		if err := json.Unmarshal(from[key], &inner); err != nil {
			t.Fatalf("%s: %v", key, err)
		}
		from = inner
	}
	var v T
	if err := json.Unmarshal(from[path[len(path)-1]], &v); err != nil {
		t.Fatalf("%v: %v", path, err)
	}
	return v
}

// near fails unless got is want within a relative tolerance, or 1e-12 of nothing.
func near(t testing.TB, what string, got any, want, rel float64) {
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
	if !(math.Abs(g-want) <= max(rel*math.Abs(want), 1e-12)) {
		t.Errorf("%s: %.17g, want %.17g (relative error %.2g)", what, g, want, math.Abs(g-want)/math.Abs(want))
	}
}

// all is near for every number of a list.
func all(t testing.TB, what string, got, want []float64, rel float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: %d numbers, want %d", what, len(got), len(want))
	}
	for i := range got {
		near(t, what, got[i], want[i], rel)
	}
}

// of takes one number from each point.
func of(points []Point, number func(Point) float64) []float64 {
	numbers := make([]float64, len(points))
	for i, p := range points {
		numbers[i] = number(p)
	}
	return numbers
}

func valueOf(p Point) float64 { return p.Value }

// fired are the indices of the points at which a test fired.
func fired(points []Point, test int) []int {
	indices := []int{}
	for _, p := range points {
		if p.Signals.Has(test) {
			indices = append(indices, p.Index)
		}
	}
	return indices
}

func point[T any](v T) *T { return &v }
