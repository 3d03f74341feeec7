package command

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagitta/batch/record"
	"sagitta/export"
	"sagitta/inspect/unit"
	"sagitta/station/app"
)

func reportCommand() *cobra.Command {
	var opt app.Options
	var out, lengths string
	cmd := &cobra.Command{
		Use:   "report BATCH",
		Short: "Write the batch's workbook",
		Args:  exactly("BATCH"),
		Example: `  sagitta report QM-2611
  sagitta report QM-2611 --data shop -o /srv/reports/QM-2611.xlsx --unit in`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if out == "" {
				out = args[0] + ".xlsx"
			}
			err := withRecord(opt, func(db *record.DB) error {
				if err := knownBatch(cmd.Context(), db, args[0], opt.Dir); err != nil {
					return err
				}
				return export.WorkbookFile(cmd.Context(), out, db, args[0], export.Options{Unit: lengths, Location: time.Local, Now: time.Now(), Station: opt.Name})
			})
			if err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), out)
			return nil
		},
	}
	recordFlags(cmd, &opt)
	cmd.Flags().StringVarP(&out, "out", "o", "", "file to write (default BATCH.xlsx)")
	choiceFlag(cmd, &lengths, "unit", unit.Millimetre.String(), "unit of lengths", unit.Millimetre.String(), unit.Inch.String())
	cmd.ValidArgsFunction = first(batchNumbers(&opt))
	return cmd
}

// knownBatch says which batches the record has when it has none of the number.
func knownBatch(ctx context.Context, db *record.DB, number, dir string) error {
	_, err := db.Batch(ctx, number)
	if !errors.Is(err, record.ErrUnknown) {
		return err
	}
	rows, err := db.Batches(ctx)
	if err != nil {
		return err
	}
	if len(rows) == 0 {
		return fmt.Errorf("batch %q is not in the record %s; it has no batch yet", number, dir)
	}
	numbers := make([]string, 0, batchesNamed+1)
	for _, r := range rows[:min(len(rows), batchesNamed)] {
		numbers = append(numbers, r.Number)
	}
	if more := len(rows) - batchesNamed; more > 0 {
		numbers = append(numbers, fmt.Sprintf("and %d more", more))
	}
	return fmt.Errorf("batch %q is not in the record %s; it has %s", number, dir, strings.Join(numbers, ", "))
}

// batchesNamed is how many batches, the newest, an error names at most.
const batchesNamed = 20
