package batch

import (
	"fmt"
	"strings"
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

// ErrorKind says that who wrote the file or entry can mend it.
func (e FileError) ErrorKind() ErrorKind { return Mendable }
