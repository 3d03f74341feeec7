package batch

import (
	"errors"
	"fmt"

	"sagitta/inspect"
)

// ErrorKind says whose an error is and so what can be done about it. It is decided where the error arises and translated once
// at each border: into a status by the pages, into an exit code by the commands.
type ErrorKind int

// The kinds. An error that nobody gave a kind is the machine's.
const (
	Machine   ErrorKind = iota // the machine could not: disk, memory, network, a damaged file; nothing was recorded
	Mendable                   // what was entered can be mended and entered again
	Conflict                   // it goes against what is so now: an open inspection, a closed batch, a revision in use
	Absent                     // what was asked for is not there
	Unproven                   // nobody is signed on, or what proves who somebody is was missing or wrong
	Forbidden                  // who is signed on may not do it
)

// kindError is an error with its kind.
type kindError struct {
	error
	kind ErrorKind
}

func (e kindError) Unwrap() error { return e.error }

// ErrorKind is what KindOf looks for; error types of other packages may have it too.
func (e kindError) ErrorKind() ErrorKind { return e.kind }

// Errorf is fmt.Errorf for an error of a kind.
func (k ErrorKind) Errorf(format string, args ...any) error {
	return kindError{fmt.Errorf(format, args...), k}
}

// Of gives an error a kind; nil stays nil.
func (k ErrorKind) Of(err error) error {
	if err == nil {
		return nil
	}
	return kindError{err, k}
}

// KindOf is an error's kind: the outermost one that it was given, Machine where it was given none; faults of a specification or of
// readings are Mendable. Of several errors joined
// into one the gravest counts: Machine before Forbidden before Unproven before Absent before Conflict before Mendable.
func KindOf(err error) ErrorKind {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		return kindOfJoined(joined.Unwrap())
	}
	switch own := err.(type) {
	case interface{ ErrorKind() ErrorKind }:
		return own.ErrorKind()
	case inspect.Fault, inspect.Faults:
		return Mendable
	}
	if inner := errors.Unwrap(err); inner != nil {
		return KindOf(inner)
	}
	return Machine
}

// kindOfJoined is the gravest kind among errors.
func kindOfJoined(errs []error) ErrorKind {
	grave := []ErrorKind{Mendable, Conflict, Absent, Unproven, Forbidden, Machine}
	worst := -1
	for _, err := range errs {
		for i, k := range grave {
			if k == KindOf(err) {
				worst = max(worst, i)
			}
		}
	}
	if worst < 0 {
		return Machine
	}
	return grave[worst]
}
