package decode

import (
	"fmt"
	"slices"
	"strings"

	"github.com/agext/levenshtein"
)

// Problem is one thing wrong with a decoder file or a capture.
type Problem struct {
	Line int    // 1 is the first; 0 when the thing is missing altogether
	Key  string // dotted path, such as "frame.end"
	Says string // what was found, what is allowed, what to do
}

// LoadError is everything wrong with one file.
type LoadError struct {
	File     string
	Problems []Problem
}

// mostProblems is how many problems of one file are told.
const mostProblems = 50

// Error names the file, the line, the key and the reason, one problem a line.
func (e *LoadError) Error() string {
	lines := make([]string, 0, mostProblems)
	for i, p := range e.Problems {
		if i == mostProblems {
			lines = append(lines, fmt.Sprintf("%s: and %d more; the first %d are told", e.File, len(e.Problems)-mostProblems, mostProblems))
			break
		}
		where := e.File
		if p.Line > 0 {
			where += fmt.Sprintf(":%d", p.Line)
		}
		if p.Key != "" {
			where += ": " + p.Key
		}
		lines = append(lines, where+": "+p.Says)
	}
	return strings.Join(lines, "\n")
}

// suggest offers the nearest of the allowed words, or nothing when none is near.
func suggest(word string, allowed []string) string {
	best, distance := "", len(word)/2+1
	for _, a := range allowed {
		if d := levenshtein.Distance(strings.ToLower(word), a, nil); d < distance {
			best, distance = a, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", best)
}

// oneOf says which words are allowed, and which of them is nearest to what was found.
func oneOf(found string, allowed []string) string {
	quoted := make([]string, len(allowed))
	for i, a := range allowed {
		quoted[i] = fmt.Sprintf("%q", a)
	}
	return fmt.Sprintf("found %q; allowed: %s%s", found, strings.Join(quoted, ", "), suggest(found, allowed))
}

// sortedKeys lists a table's keys in order, so that problems come in the same order every time.
func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
