package batch

import (
	"errors"
	"fmt"
	"strings"

	"github.com/agext/levenshtein"
)

// FileError is one thing wrong with a file or an entry: where, what was found and what is allowed.
type FileError struct {
	File    string // empty: not from a file
	Line    int    // from 1; 0: not known
	Field   string // path of the key, e.g. limit[3].upper_mm
	Found   string
	Allowed string
	Problem string // what is wrong where nothing of the sort was found, instead of Found and Allowed: "is missing; needed: a number"
}

// Words says what is wrong without where: what was found and what is allowed, or the problem.
func (e FileError) Words() string {
	switch {
	case e.Problem != "":
		return e.Problem
	case e.Allowed != "":
		return "found " + e.Found + "; allowed: " + e.Allowed
	}
	return "found " + e.Found
}

// Error is one line: file:line: field: what is wrong.
func (e FileError) Error() string {
	var w strings.Builder
	if e.File != "" {
		w.WriteString(e.File + ":")
		if e.Line > 0 {
			fmt.Fprintf(&w, "%d:", e.Line)
		}
		w.WriteString(" ")
	}
	if e.Field != "" {
		w.WriteString(e.Field + ": ")
	}
	w.WriteString(e.Words())
	return w.String()
}

// faultsError joins what is wrong with one file into one error, a line each; nil when nothing is.
// errors.As with a FileError finds the first.
func faultsError(faults []FileError) error {
	errs := make([]error, len(faults))
	for i, f := range faults {
		errs[i] = f
	}
	return errors.Join(errs...)
}

// suggest names the known word nearest to the one given, or nothing when none is near.
func suggest(word string, known []string) string {
	best, least := "", 4
	for _, k := range known {
		if d := levenshtein.Distance(word, k, nil); d < least && d < max(len(word), 2) {
			best, least = k, d
		}
	}
	return best
}

// ErrorKind says that who wrote the file or entry can mend it.
func (e FileError) ErrorKind() ErrorKind { return Mendable }
