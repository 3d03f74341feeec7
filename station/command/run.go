// Package command holds the commands of sagitta, each in a file of its name: what they take, what they print, and with
// which code they end.
package command

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"
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

// Run executes one command line and returns the exit code.
func Run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) int {
	root := &cobra.Command{
		Use:           "sagitta",
		Short:         "Inspection station for finished guitar necks",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          itsCommands,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return cmd.Help()
		},
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	root.SetFlagErrorFunc(optionError)
	root.AddCommand(demoCommand(), serveCommand(), checkCommand(), reportCommand(), portsCommand(), listenCommand(), decodeCommand(), replayCommand(),
		verifyCommand(), backupCommand(), importCommand(), studyCommand(), samplingCommand(), chartCommand(), capabilityCommand(), summaryCommand())

	called, err := root.ExecuteContextC(ctx)
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errDoesNotConform):
		return exitReject
	case errors.Is(err, context.Canceled) && ctx.Err() != nil:
		return exitDone
	}
	fmt.Fprintln(errs, "sagitta: "+err.Error())
	var usage usageError
	if errors.As(err, &usage) {
		fmt.Fprintf(errs, "Try: %s --help\n", called.CommandPath())
		return exitUsage
	}
	return exitFailed
}
