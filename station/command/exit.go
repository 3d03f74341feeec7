package command

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagitta/batch"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1 // could not
	exitUsage  = 2 // wrong usage
	exitReject = 3 // the answer is "does not conform"
)

// errDoesNotConform ends a command whose answer is "does not conform"; it has been printed already.
var errDoesNotConform = errors.New("does not conform")

// nonconformity is an answer "does not conform" of which there is something left to say.
type nonconformity struct{ error }

func (nonconformity) Is(target error) bool { return target == errDoesNotConform }

// errInterrupted ends a command that computes, wherever it is: half an answer is none.
var errInterrupted = errors.New("interrupted: there is no answer")

// endAtOnce makes commands that only read and compute, and those below them, end as soon as they are interrupted: they have nothing to put
// in order, and a computation does not listen.
func endAtOnce(commands ...*cobra.Command) []*cobra.Command {
	for _, cmd := range commands {
		endAtOnce(cmd.Commands()...)
		run := cmd.RunE
		if run == nil {
			continue
		}
		cmd.RunE = func(cmd *cobra.Command, args []string) error {
			done := make(chan error, 1)
			go func() { done <- run(cmd, args) }()
			select {
			case err := <-done:
				return err
			case <-cmd.Context().Done():
				return errInterrupted
			}
		}
	}
	return commands
}

// usageError is a mistake in how the program was called.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// ErrorKind says that who called the program can mend it.
func (e usageError) ErrorKind() batch.ErrorKind { return batch.Mendable }

// end is the one place that turns an error into a line for people and an exit code. How the program was called is wrong
// usage; whatever else is wrong, of whatever kind, the command could not do what it was asked for.
func end(ctx context.Context, called *cobra.Command, err error, errs io.Writer) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errDoesNotConform):
		if err != errDoesNotConform {
			fmt.Fprintf(errs, "sagitta: %v\n", err)
		}
		return exitReject
	case errors.Is(err, context.Canceled) && ctx.Err() != nil:
		return exitDone // it was ended from outside
	case errors.As(err, &usage):
		fmt.Fprintf(errs, "sagitta: %v\nTry: %s --help\n", err, called.CommandPath())
		return exitUsage
	}
	fmt.Fprintf(errs, "sagitta: %v\n", err)
	return exitFailed
}
