package command

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch"
	"sagitta/batch/life"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/inspect/unit"
	"sagitta/station/app"
)

func instrumentCommand() *cobra.Command {
	var opt app.Options
	cmd := &cobra.Command{
		Use:   "instrument NUMBER",
		Short: "Tell an instrument's life: what humidity and strings do to it, what to expect, and visit by visit what was found, done and left",
		Args:  exactly("NUMBER"),
		Example: `  sagitta instrument QM-FT-0107
  sagitta instrument QM-FT-0107 --data years
  sagitta instrument export QM-FT-0107 -o QM-FT-0107`,
		RunE: func(cmd *cobra.Command, args []string) error {
			var l *life.Life
			var days []batch.AirDay
			if err := withRecord(opt, func(db *record.DB) (err error) {
				if l, err = life.Read(cmd.Context(), db, args[0]); err != nil {
					return err
				}
				if len(l.Stays) == 0 {
					_, err := db.Neck(cmd.Context(), args[0]) // says that it is not known, and which is near
					return err
				}
				days, err = db.AirDays(cmd.Context())
				return err
			}); err != nil {
				return err
			}
			out := cmd.OutOrStdout()
			fmt.Fprintf(out, "%s on %s\n\n", l.Serial, tell.Day(time.Now()))
			for _, words := range tell.Life(l, days, unit.Millimetre) {
				fmt.Fprintln(out, words)
			}
			for _, stay := range l.Stays {
				fmt.Fprintf(out, "\n%s\n", tell.StayName(stay))
				for _, words := range tell.StayTold(stay, unit.Millimetre) {
					fmt.Fprintf(out, "  %s\n", words)
				}
			}
			return nil
		},
	}
	recordFlags(cmd, &opt)
	cmd.AddCommand(instrumentExport(), instrumentImport())
	return cmd
}
