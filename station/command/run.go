// Package command holds the commands of sagitta, each in a file of its name: what they take, what they print, and with
// which code they end.
package command

import (
	"context"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"sagitta/station/app"
)

// Groups of commands, in the order of the help.
const (
	atBench   = "bench"
	ofQuality = "quality"
	ofFiles   = "files"
	ofProgram = "program"
)

// Run executes one command line and returns the exit code.
func Run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) int {
	root := rootCommand()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errs)
	called, err := root.ExecuteContextC(ctx)
	return end(ctx, called, err, errs)
}

func rootCommand() *cobra.Command {
	version := "sagitta " + app.ThisVersion().String()
	root := &cobra.Command{
		Use:           "sagitta",
		Short:         "Inspection station for finished guitar necks",
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          itsCommands,
		RunE:          showHelp,
		Example: `  sagitta demo                                the whole job with simulated gauges
  sagitta serve --data shop                   the station, its record in the folder shop
  sagitta check spec.toml neck.json           the verdict on one neck's readings
  sagitta report QM-2611 --data shop          a batch's workbook
  sagitta chart single relief.csv             is the relief steady`,
	}
	root.CompletionOptions.DisableDefaultCmd = true // completionCommand is ours
	root.PersistentFlags().BoolP("help", "h", false, "show this help")
	root.Flags().Bool("version", false, "show the version")
	root.SetVersionTemplate("{{.Version}}\n")
	root.SetFlagErrorFunc(optionError)
	root.SetHelpFunc(printHelp)
	root.AddGroup(&cobra.Group{ID: atBench, Title: "At the bench"}, &cobra.Group{ID: ofQuality, Title: "Quality"},
		&cobra.Group{ID: ofFiles, Title: "The record and files"}, &cobra.Group{ID: ofProgram, Title: "The program"})
	add := func(group string, commands ...*cobra.Command) {
		for _, cmd := range commands {
			cmd.GroupID = group
			root.AddCommand(cmd)
		}
	}
	add(atBench, demoCommand(), serveCommand(), portsCommand(), listenCommand())
	add(ofQuality, endAtOnce(checkCommand(), chartCommand(), capabilityCommand(), studyCommand(), samplingCommand(), summaryCommand())...)
	add(ofFiles, reportCommand(), sheetCommand(), labelCommand(), instrumentCommand(), importCommand(), peopleCommand(), auditCommand(), verifyCommand(), checkpointCommand(), backupCommand(), restoreCommand(), salvageCommand())
	add(ofFiles, endAtOnce(decodeCommand())...)
	add(ofFiles, replayCommand())
	help := helpCommand()
	add(ofProgram, doctorCommand(), versionCommand(version), completionCommand(), help)
	root.SetHelpCommand(help)
	return root
}

func versionCommand(version string) *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "What this program was built from, and the newest record it knows",
		Args:  exactly(),
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(cmd.OutOrStdout(), version)
			return err
		},
	}
}
