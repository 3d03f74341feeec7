package command

import (
	_ "embed"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"sagitta/station/app"
	"sagitta/station/doctor"
)

// service is the unit by which systemd runs the station as a user of its own.
//
//go:embed sagitta.service
var service string

func doctorCommand() *cobra.Command {
	var opt app.Options
	var reach doctor.Reach
	var unit bool
	cmd := &cobra.Command{
		Use:   "doctor",
		Short: "What is wrong with this installation: folder, record, copies, room, clock, sign-on, certificate, ports, build; exit status 3 when anything is",
		Args:  exactly(),
		Example: `  sagitta doctor --data shop --listen :8470     what would be wrong with serve --listen :8470
  sagitta doctor --service                    a systemd unit for this program, to be read before it is used`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if unit {
				program, err := os.Executable()
				if err != nil {
					return fmt.Errorf("where this program lies cannot be told: %w", err)
				}
				_, err = fmt.Fprint(cmd.OutOrStdout(), strings.ReplaceAll(service, "PROGRAM", program))
				return err
			}
			found := doctor.ThisMachine().Station(cmd.Context(), opt.Dir, reach)
			for _, f := range found {
				fmt.Fprintf(cmd.OutOrStdout(), "%-5s  %s: %s\n", f.State, f.Part, f.Says)
				if f.Do != "" {
					fmt.Fprintf(cmd.OutOrStdout(), "       %s\n", f.Do)
				}
			}
			if slices.ContainsFunc(found, func(f doctor.Finding) bool { return f.State == doctor.Wrong }) {
				return errDoesNotConform
			}
			return nil
		},
	}
	recordFlags(cmd, &opt)
	listenFlag(cmd, &reach.Listen)
	certificateFlags(cmd, &reach.Certificate)
	cmd.Flags().BoolVar(&unit, "service", false, "print a systemd unit that runs the station as a user of its own, and look at nothing")
	return cmd
}
