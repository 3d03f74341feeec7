package batch

import (
	"errors"
	"io/fs"
	"strings"
)

// inTheMaking is an error about a file in the making.
type inTheMaking struct {
	error
	words string
}

func (e inTheMaking) Error() string { return e.words }
func (e inTheMaking) Unwrap() error { return e.error }

// InTheMaking has an error about a file in the making say what the file is for: its temporary paths say nothing to anybody, and are told as what is
// given instead. Where none are given, which is where none could be made, it is that of the file system's own error. It stays the error that it is;
// nil stays nil.
func InTheMaking(err error, told string, temporary ...string) error {
	if err == nil {
		return nil
	}
	var at *fs.PathError
	if len(temporary) == 0 && errors.As(err, &at) {
		temporary = append(temporary, at.Path)
	}
	words := err.Error()
	for _, path := range temporary {
		if path != "" {
			words = strings.ReplaceAll(words, path, told)
		}
	}
	return inTheMaking{err, words}
}
