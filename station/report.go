package main

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch/record"
	"sagitta/export"
)

func reportCommand() *cobra.Command {
	var opt appOptions
	var out, unit string
	cmd := &cobra.Command{
		Use:   "report BATCH",
		Short: "Write the batch's workbook",
		Args:  exactly("BATCH"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if unit != "mm" && unit != "in" {
				return usageError{fmt.Errorf("--unit %q: allowed are mm and in", unit)}
			}
			if out == "" {
				out = args[0] + ".xlsx"
			}
			err := withRecord(opt, func(db *record.DB) error { return writeWorkbook(cmd, db, opt.Name, args[0], out, unit) })
			if err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), out)
			return nil
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", "", "file to write (default BATCH.xlsx)")
	cmd.Flags().StringVar(&unit, "unit", "mm", "unit of lengths: mm or in")
	return cmd
}

// writeWorkbook writes one batch's workbook; the file appears only when it is whole.
func writeWorkbook(cmd *cobra.Command, db *record.DB, station, number, path, unit string) error {
	return export.WriteFile(path, func(w io.Writer) error {
		return export.Workbook(cmd.Context(), w, db, number, export.Options{Unit: unit, Location: time.Local, Now: time.Now(), Station: station})
	})
}
